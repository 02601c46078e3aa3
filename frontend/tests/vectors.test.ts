import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { happenedRecords, unsaid } from '../src/lib/happened';
import { headsNow } from '../src/lib/overlay';
import type { Call, Card } from '../src/lib/round';
import { type Kept, STANDING, type Wire } from '../src/lib/types';
import { kept } from './records';

const read = <T>(name: string) => JSON.parse(readFileSync(`../tests/vectors/${name}.json`, 'utf8')) as T;
const unsent = (record: Wire): Kept => ({
  ...record,
  day: record.at.slice(0, 10),
  standing: STANDING.unsent,
});

describe('the overlay shows what the book will say', () => {
  const { cases } = read<{
    cases: { name: string; calls: Call[]; records: Wire[]; heads: Record<string, number> }[];
  }>('overlay');

  it.each(cases)('$name', ({ calls, records, heads }) => {
    expect(Object.fromEntries(headsNow(calls, records.map(unsent)))).toEqual(heads);
  });

  it('was tried with cases in which birds come and go', () => expect(cases.length).toBeGreaterThan(20));

  const [first] = cases;
  const calls = first?.calls ?? [];
  const of = (records: Kept[], tapped: Parameters<typeof headsNow>[2] = []) =>
    headsNow(calls, records, tapped).get('s3');
  const before = calls.find(({ id }) => id === 's3')?.heads ?? 0;

  it('counts once what the rounds hold already', () => {
    expect(of([kept('found dead', { place: 's3', heads: 2 }, undefined, STANDING.counted)])).toBe(before);
  });
  it('gives birds back when a counted death is taken back, or was fewer', () => {
    const dead = kept('found dead', { place: 's3', heads: 2 }, undefined, STANDING.counted);
    expect(of([dead, kept('correction', { of: dead.id, void: true })])).toBe(before + 2);
    expect(of([dead, kept('correction', { of: dead.id, data: { place: 's3', heads: 1 } })])).toBe(before + 1);
  });
  it('leaves out what the server did not take', () => {
    expect(of([kept('found dead', { place: 's3' }, undefined, STANDING.refused)])).toBe(before);
  });
  it('shows deaths as they are tapped', () => {
    expect(of([], [{ kind: 'found dead', data: { place: 's3', heads: 3 } }])).toBe(before - 3);
  });
});

describe('cards become the records the server expects', () => {
  const { cards, examples } = read<{
    cards: Card[];
    examples: { card: string; answers: Record<string, string | number>; records: unknown[] }[];
  }>('cards');

  it.each(examples)('$card', ({ card, answers, records }) => {
    const found = cards.find(({ id }) => id === card);
    expect(found && happenedRecords(found, answers).map(([kind, data]) => ({ kind, data }))).toEqual(records);
    expect(found && unsaid(found, answers)).toBeUndefined();
  });

  it.each(cards.filter(({ facts }) => facts.some(({ id }) => id === 'dead')))(
    '$id: where birds were lost is asked once their number is said',
    (card) => {
      expect(unsaid(card, {})).toBeUndefined();
      expect(unsaid(card, { dead: 2 })?.ask).toBe('place');
      expect(unsaid(card, { dead: 0 })).toBeUndefined();
      expect(unsaid(card, { dead: 2, place: 's2' })).toBeUndefined();
    },
  );
});
