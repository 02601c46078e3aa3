// The phone's own records laid over the heads the server expected: the only part of the book that is done
// twice. Held to the server's fold by tests/vectors/overlay.json.

import { effective } from './effective';
import type { Call } from './round';
import { type Kept, STANDING, type Wire } from './types';

interface Flock {
  batch: string;
  sex: string | null;
  heads: number;
}
type Places = Map<string, Flock[]>;
type Fact = Pick<Wire, 'kind' | 'data'>;

/** Birds in each place once what the rounds do not hold yet is taken in: the `kept` not counted by the server,
 * with their corrections, and the deaths just `tapped`. `kept` may hold counted ones too: where such a one
 * was corrected since, the correction counts. What takes more birds than there are, or does not say which of
 * several it means, is left to the server to ask about. `holds`: ids of sent records that the round of these
 * calls holds already. */
export function headsNow(
  calls: Pick<Call, 'id' | 'heads' | 'parties'>[],
  kept: Kept[],
  tapped: Fact[] = [],
  holds: string[] = [],
): Map<string, number> {
  const records = kept.map((one) =>
    one.standing === STANDING.sent && holds.includes(one.id) ? { ...one, standing: STANDING.counted } : one,
  );
  const places: Places = new Map(
    calls.map(({ id, parties }) => [id, parties.map(({ batch, sex, heads }) => ({ batch, sex, heads }))]),
  );
  const here = (place: string) => (places.get(place) ?? []).reduce((sum, { heads }) => sum + heads, 0);
  const besides = new Map(calls.map(({ id, heads }) => [id, heads - here(id)]));
  const counted = effective(records.filter(({ standing }) => standing === STANDING.counted));
  const standing = effective(records.filter((record) => record.standing <= STANDING.counted));
  const now = new Map(standing.map((record) => [record.id, record]));
  for (const before of counted) {
    if (now.get(before.id)?.data !== before.data) giveBack(places, before);
  }
  const known = new Map(counted.map((record) => [record.id, record]));
  for (const record of [...standing.filter(({ id, data }) => known.get(id)?.data !== data), ...tapped]) {
    apply(places, record);
  }
  return new Map([...places.keys()].map((place) => [place, here(place) + (besides.get(place) ?? 0)]));
}

const LOST = ['found dead', 'missing', 'culled', 'killed', 'sold'];

function headsIn({ data }: Fact): number {
  return typeof data.heads === 'number' ? data.heads : 1;
}

/** A bird that is not sorted yet may be of either sex. */
function fitting(places: Places, place: string, { data }: Fact): Flock[] {
  return (places.get(place) ?? []).filter(
    ({ batch, sex, heads }) =>
      heads > 0 &&
      (data.batch === undefined || data.batch === batch) &&
      (data.sex === undefined || sex === null || data.sex === sex),
  );
}

function put(places: Places, place: string, flock: Flock): void {
  const here = places.get(place) ?? [];
  const same = here.find(({ batch, sex }) => batch === flock.batch && sex === flock.sex);
  if (same) same.heads += flock.heads;
  else here.push({ ...flock });
  places.set(place, here);
}

/** The one flock with `heads` birds to take; undefined where none has, or more than one could be meant. */
function one(places: Places, from: string[], fact: Fact, heads: number): Flock | undefined {
  const found = from.flatMap((place) => fitting(places, place, fact));
  const [flock] = found;
  return found.length === 1 && flock && flock.heads >= heads ? flock : undefined;
}

function apply(places: Places, fact: Fact): void {
  const { kind, data } = fact;
  const named = kind === 'moved' ? data.from : data.place;
  const from = typeof named === 'string' ? [named] : [...places.keys()];
  if (LOST.includes(kind)) {
    const flock = one(places, from, fact, headsIn(fact));
    if (flock) flock.heads -= headsIn(fact);
  } else if (kind === 'found alive') {
    const flock = one(places, from, fact, 0);
    if (flock) flock.heads += headsIn(fact);
  } else if (kind === 'moved') {
    const to = String(data.to);
    if (typeof data.heads === 'number') {
      const flock = one(places, from, fact, data.heads);
      if (!flock) return;
      flock.heads -= data.heads;
      put(places, to, { ...flock, heads: data.heads });
    } else {
      for (const flock of from
        .filter((place) => place !== to)
        .flatMap((place) => fitting(places, place, fact))) {
        put(places, to, flock);
        flock.heads = 0;
      }
    }
  }
}

/** Undoes a loss that the server counted. Moves are left to it: where the birds are now it alone knows. */
function giveBack(places: Places, fact: Fact): void {
  const place = String(fact.data.place);
  const [flock] = (places.get(place) ?? []).filter(
    ({ batch }) => fact.data.batch === undefined || fact.data.batch === batch,
  );
  if (!flock) return;
  if (LOST.includes(fact.kind)) flock.heads += headsIn(fact);
  if (fact.kind === 'found alive') flock.heads -= headsIn(fact);
}
