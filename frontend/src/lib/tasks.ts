// What is to be ticked at a place, what is left of it, and the records that "as said" stands for.

import { type Done, nothing } from './kinds';
import type { Call, Check, Feeding } from './round';

export type Task = 'move' | 'fence' | 'feed' | 'water';
export type Written = [kind: string, data: Record<string, unknown>];

export function writes(call: Call, kind: string): boolean {
  return call.records.includes(kind);
}

function moveKind(call: Call): 'shelter moved' | 'break opened' {
  return call.kind === 'cattle' ? 'break opened' : 'shelter moved';
}

/** The move is a thing to do unless there is nowhere to go. Cattle have a break to be opened. */
export function moves(call: Call): boolean {
  if (!writes(call, moveKind(call))) return false;
  if (call.kind === 'cattle') return call.checks.some(({ key }) => key === 'break');
  return call.move !== null && !['stay', 'none'].includes(call.move.kind);
}

/** The net is a thing to shift unless no rested ground is left for it. */
export function shifts(call: Call): boolean {
  return !!call.fence && call.fence.kind !== 'none' && writes(call, 'fence shifted');
}

export function isFed(done: Done, feeding: Feeding): boolean {
  return done.fed.some(({ data }) => data.feed === undefined || data.feed === feeding.feed);
}

export function pending(call: Call, done: Done): Task[] {
  const left: Task[] = [];
  if (moves(call) && done.moved.length === 0) left.push('move');
  if (shifts(call) && done.shifted.length === 0) left.push('fence');
  if (writes(call, 'fed') && call.feeds.some((feeding) => !isFed(done, feeding))) left.push('feed');
  if (call.water && writes(call, 'watered') && done.watered.length === 0) left.push('water');
  return left;
}

export function allDone(call: Call, done: Done): boolean {
  return pending(call, nothing()).length > 0 && pending(call, done).length === 0;
}

/** `measures`: how much of the farm's own measure, where it was not what was said. */
export function fedData(call: Call, feeding: Feeding, measures?: number): Record<string, unknown> {
  const { feed, kg, measure } = feeding;
  if (measure && feeding.measures !== null) {
    return { place: call.id, feed, measure, measures: measures ?? feeding.measures };
  }
  return { place: call.id, feed, kg: measures ?? kg };
}

/** The records of all that is left here, or of one part of it, done as it was said. `amounts`: other amounts
 * of feed, by feed; `into`: the field that cattle are let into. */
export function asSaid(
  call: Call,
  done: Done,
  only?: Task,
  amounts: Record<string, number> = {},
  into?: string,
): Written[] {
  const left = pending(call, done).filter((task) => !only || task === only);
  const made: Written[] = [];
  if (left.includes('move')) {
    const to = call.move?.stand ?? undefined;
    const distance_m = call.move?.distance_m ?? undefined;
    made.push([
      moveKind(call),
      call.kind === 'cattle' ? { cattle: call.id, to: into ?? to } : { place: call.id, to, distance_m },
    ]);
  }
  if (left.includes('fence')) {
    const corners = call.fence?.corners_deg ?? [];
    made.push([
      'fence shifted',
      {
        net: call.fence?.net,
        to: call.fence?.paddock ?? undefined,
        corners_deg: corners.length > 0 ? corners : undefined,
      },
    ]);
  }
  if (left.includes('feed')) {
    for (const feeding of call.feeds) {
      if (isFed(done, feeding)) continue;
      const amount = amounts[feeding.feed];
      if (amount !== 0) made.push(['fed', fedData(call, feeding, amount)]);
    }
  }
  if (left.includes('water')) made.push(['watered', { place: call.id, runs: true }]);
  return made;
}

/** The record of a check that is ticked and kept by itself. */
export function tended(call: Call, check: Check): Written | undefined {
  if (check.ask !== 'tick' || !writes(call, 'tended')) return undefined;
  return ['tended', { incubator: call.id, what: check.key }];
}

/** The record of a number read on the morning round; undefined where there is none for it. */
export function reading(call: Call, check: Check, value: number): Written | undefined {
  if (check.ask !== 'number') return undefined;
  if (check.key === 'kV' && call.net && writes(call, 'fence voltage')) {
    return ['fence voltage', { net: call.net, kV: value }];
  }
  if (check.key === 'warmth' && writes(call, 'temperature read')) {
    return ['temperature read', { place: call.id, now_C: value }];
  }
  return undefined;
}
