// What stands once corrections are heard, as log/corrections.py has it: of several corrections of one record
// each holds until a later one (by at, id) says otherwise; a correction can only be taken back.

import type { Wire } from './types';

interface Correction {
  of?: unknown;
  void?: unknown;
  data?: unknown;
  at?: unknown;
}

export function earlier(a: Wire, b: Wire): number {
  const [left, right] = [Date.parse(a.at), Date.parse(b.at)];
  if (left !== right) return left - right;
  return a.id < b.id ? -1 : a.id > b.id ? 1 : 0;
}

/** The records that stand, corrected, in order of (at, id), corrections themselves left out. One that
 * corrects a record not among them is passed over. */
export function effective<T extends Wire>(records: Iterable<T>): T[] {
  const log = new Map<string, T>();
  for (const record of records) log.set(record.id, record);
  const corrections = [...log.values()].filter(({ kind }) => kind === 'correction').sort(earlier);
  const voided = new Set<string>();
  for (const record of [...corrections].reverse()) {
    const target = log.get(String((record.data as Correction).of));
    if (target?.kind === 'correction' && !voided.has(record.id)) voided.add(target.id);
  }
  for (const record of corrections) {
    const { of, void: back, data, at } = record.data as Correction;
    const target = log.get(String(of));
    if (!target || voided.has(record.id) || target.kind === 'correction') continue;
    if (back === true) {
      voided.add(target.id);
      continue;
    }
    voided.delete(target.id);
    log.set(target.id, {
      ...target,
      ...(data ? { data: data as Record<string, unknown> } : {}),
      ...(typeof at === 'string' ? { at } : {}),
    });
  }
  return [...log.values()].filter(({ id, kind }) => !voided.has(id) && kind !== 'correction').sort(earlier);
}
