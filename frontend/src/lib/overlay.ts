// The phone's own records laid over the heads the server expected: the only part of the book that is done
// twice. Held to the server's fold by tests/vectors/overlay.json.

import type { Loss } from './hub.svelte';
import type { Call } from './round';
import type { Wire } from './types';

interface Flock {
  batch: string;
  sex: string | null;
  heads: number;
}

/** Birds in each call's place once `records` (standing, corrected, not yet in the calls) and the deaths just
 * tapped are taken in. A record that takes more birds than there are is left to the server to ask about. */
export function headsNow(calls: Call[], records: Wire[], losses: Loss[] = []): Map<string, number> {
  const places = new Map<string, Flock[]>();
  for (const { id, parties } of calls) {
    places.set(
      id,
      parties.map(({ batch, sex, heads }) => ({ batch, sex, heads })),
    );
  }
  const tapped = losses.map(({ kind, at: _, ...data }) => ({
    kind,
    data: { ...data } as Record<string, unknown>,
  }));
  for (const { kind, data } of [...records, ...tapped]) apply(places, kind, data);
  return new Map(
    calls.map(({ id, parties, heads }) => {
      const before = parties.reduce((sum, party) => sum + party.heads, 0);
      const after = (places.get(id) ?? []).reduce((sum, flock) => sum + flock.heads, 0);
      return [id, heads + after - before];
    }),
  );
}

function fits(data: Record<string, unknown>): (flock: Flock) => boolean {
  return ({ batch, sex }) =>
    (data.batch === undefined || data.batch === batch) && (data.sex === undefined || data.sex === sex);
}

/** Takes `heads` birds that fit out of a place, or all of them; what was taken, by flock. */
function take(
  places: Map<string, Flock[]>,
  place: unknown,
  data: Record<string, unknown>,
  heads?: number,
): Flock[] {
  const here = (places.get(String(place)) ?? []).filter(fits(data));
  let left = heads ?? Number.POSITIVE_INFINITY;
  if (heads !== undefined && here.reduce((sum, flock) => sum + flock.heads, 0) < heads) return [];
  const taken: Flock[] = [];
  for (const flock of here) {
    const some = Math.min(flock.heads, left);
    flock.heads -= some;
    left -= some;
    if (some > 0) taken.push({ ...flock, heads: some });
  }
  return taken;
}

function put(places: Map<string, Flock[]>, place: unknown, flocks: Flock[]): void {
  const here = places.get(String(place)) ?? [];
  for (const flock of flocks) {
    const same = here.find(({ batch, sex }) => batch === flock.batch && sex === flock.sex);
    if (same) same.heads += flock.heads;
    else here.push({ ...flock });
  }
  places.set(String(place), here);
}

function apply(places: Map<string, Flock[]>, kind: string, data: Record<string, unknown>): void {
  const heads = typeof data.heads === 'number' ? data.heads : undefined;
  switch (kind) {
    case 'found dead':
    case 'missing':
    case 'culled':
    case 'killed':
    case 'sold':
      if (data.place !== undefined) take(places, data.place, data, heads ?? 1);
      return;
    case 'found alive': {
      const here = (places.get(String(data.place)) ?? []).find(fits(data));
      if (here) here.heads += heads ?? 1;
      return;
    }
    case 'moved': {
      const from = data.from === undefined ? [...places.keys()] : [data.from];
      for (const place of from) {
        if (place !== data.to) put(places, data.to, take(places, place, data, heads));
      }
      return;
    }
  }
}
