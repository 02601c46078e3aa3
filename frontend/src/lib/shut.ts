// The evening look at one place, and the records it becomes.

import type { Call } from './round';
import type { Written } from './tasks';

/** What was looked at: true or false for a tick, a number for a reading; left out: not looked at. */
export type Looked = Record<string, boolean | number | undefined>;

const SHUT = ['heads', 'doors', 'lamps', 'water', 'stakes', 'kV'];

/** Every tick well; readings only where somebody read them. */
export function allWell(call: Call, looked: Looked): Looked {
  const ticks = call.checks.filter(({ ask }) => ask === 'tick').map(({ key }) => [key, looked[key] ?? true]);
  return { ...looked, ...Object.fromEntries(ticks) };
}

export function shutRecords(call: Call, looked: Looked, again: boolean): Written[] {
  const held = SHUT.filter((key) => looked[key] !== undefined).map((key) => [key, looked[key]]);
  const made: Written[] = [
    ['shut in', { place: call.id, ...Object.fromEntries(held), ...(again ? { again } : {}) }],
  ];
  if (typeof looked.warmth === 'number' && call.records.includes('temperature read')) {
    made.push(['temperature read', { place: call.id, now_C: looked.warmth }]);
  }
  return made;
}
