// The kinds of record the phone writes (docs/records.md), and what they say was done.

import type { Kept } from './types';

export const LOSSES = ['found dead', 'missing', 'culled'] as const;
export type LossKind = (typeof LOSSES)[number];

const BAGS = {
  moved: ['shelter moved', 'break opened'],
  shifted: ['fence shifted'],
  fed: ['fed'],
  watered: ['watered'],
  losses: LOSSES as readonly string[],
  counts: ['glance', 'counted'],
  eggs: ['eggs'],
  fence: ['fence voltage'],
  warmth: ['temperature read'],
  tended: ['tended'],
  shut: ['shut in'],
} as const;

type Bag = keyof typeof BAGS;
export type Done = Record<Bag, Kept[]>;

const BAG_OF = new Map(
  Object.entries(BAGS).flatMap(([bag, kinds]) => kinds.map((kind) => [kind as string, bag as Bag] as const)),
);

export function nothing(): Done {
  return Object.fromEntries(Object.keys(BAGS).map((bag) => [bag, [] as Kept[]])) as Done;
}

/** Where a record belongs: a place, a net, a herd or an incubator. */
export function whereOf({ data }: Kept): string | undefined {
  const found = data.place ?? data.net ?? data.cattle ?? data.incubator;
  return typeof found === 'string' ? found : undefined;
}

/** What was done in each place on a day, by the records that stand. `dayOf`: the farm's day of an instant. */
export function done(standing: Kept[], day: string, dayOf: (at: string) => string): Map<string, Done> {
  const places = new Map<string, Done>();
  for (const record of standing) {
    const bag = BAG_OF.get(record.kind);
    const place = whereOf(record);
    if (!bag || !place || dayOf(record.at) !== day) continue;
    const found = places.get(place) ?? nothing();
    found[bag].push(record);
    places.set(place, found);
  }
  return places;
}

/** Birds in all, where each record is of one bird unless it says more. */
export function headsOf(records: Kept[]): number {
  return records.reduce((sum, { data }) => sum + (typeof data.heads === 'number' ? data.heads : 1), 0);
}
