import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { done, nothing } from '../src/lib/kinds';
import { allowed } from '../src/lib/rights';
import type { Rounds } from '../src/lib/round';
import { allWell, shutRecords } from '../src/lib/shut';
import { allDone, asSaid, pending, tended } from '../src/lib/tasks';
import { kept } from './records';

const sample = JSON.parse(readFileSync('../tests/vectors/rounds.json', 'utf8')) as Rounds;
const of = (role: 'farmer' | 'helper' | 'child' | 'looker-on') =>
  allowed(sample.rounds, sample.records, role);
const morning = of('farmer').find(({ part }) => part === 'morning');
const evening = of('farmer').find(({ part }) => part === 'evening');
if (!morning || !evening) throw new Error('no rounds');
const shelter = morning.calls.find(({ kind, move }) => kind === 'shelter' && move);
if (!shelter) throw new Error('no shelter');

describe('the morning, as the server prepares it', () => {
  it('has move, feed and water to do at a shelter', () => {
    expect(pending(shelter, nothing())).toEqual(['move', 'feed', 'water']);
    expect(allDone(shelter, nothing())).toBe(false);
  });

  it('turns "as said" into the records of it, and is then done', () => {
    const made = asSaid(shelter, nothing()).map(([kind, data]) => kept(kind, data));
    expect(made.map(({ kind }) => kind)).toEqual(['shelter moved', 'fed', 'watered']);
    expect(made[0]?.data.to).toBe(shelter.move?.stand);
    const [feeding] = shelter.feeds;
    expect(made[1]?.data).toEqual({
      place: shelter.id,
      feed: feeding?.feed,
      measure: feeding?.measure,
      measures: feeding?.measures,
    });
    const after = done(made, '2027-05-02', (at) => at.slice(0, 10)).get(shelter.id);
    expect(after && allDone(shelter, after)).toBe(true);
  });

  it('gives the amount that was chosen, and none where none was', () => {
    const feed = shelter.feeds[0]?.feed ?? '';
    const [, fed] = asSaid(shelter, nothing(), 'feed', { [feed]: 9 })[0] ?? [];
    expect(fed?.measures).toBe(9);
    expect(asSaid(shelter, nothing(), 'feed', { [feed]: 0 })).toEqual([]);
  });

  it('opens the break of cattle by its name', () => {
    const herd = morning.calls.find(({ kind }) => kind === 'cattle');
    expect(herd && asSaid(herd, nothing())).toEqual([['break opened', { cattle: herd?.id, to: undefined }]]);
    const field = herd?.grounds?.[1]?.[0];
    expect(field).toBe('alder-piece');
    expect(herd && asSaid(herd, nothing(), undefined, {}, field)).toEqual([
      ['break opened', { cattle: herd?.id, to: field }],
    ]);
  });
});

describe('the incubator', () => {
  const days = (role: 'farmer' | 'helper' | 'looker-on', part: string) =>
    of(role).filter((round) => round.part === part && round.calls.some(({ kind }) => kind === 'incubator'));
  const cabinet = (role: 'farmer' | 'helper' | 'looker-on', part: string) =>
    days(role, part)[0]?.calls.find(({ kind }) => kind === 'incubator');

  it('has its turning and its damp ticked by themselves, morning and evening', () => {
    for (const call of [cabinet('helper', 'morning'), cabinet('helper', 'evening')]) {
      const made = call?.checks.flatMap((check) => tended(call, check) ?? []) ?? [];
      expect(made).toEqual([
        'tended',
        { incubator: call?.id, what: 'turned' },
        'tended',
        { incubator: call?.id, what: 'damp' },
      ]);
    }
  });

  it('knows again what was ticked', () => {
    const at = '2027-05-12T04:30:00Z';
    const marks = done(
      [kept('tended', { incubator: 'cabinet', what: 'turned' }, at)],
      '2027-05-12',
      (instant) => instant.slice(0, 10),
    );
    expect(marks.get('cabinet')?.tended.map(({ data }) => data.what)).toEqual(['turned']);
  });

  it('is not shut in, and asks nothing of who only looks on', () => {
    const call = cabinet('farmer', 'evening');
    expect(call?.records).not.toContain('shut in');
    const shown = cabinet('looker-on', 'morning');
    expect(shown?.checks.map((check) => shown && tended(shown, check))).toEqual([
      undefined,
      undefined,
      undefined,
    ]);
  });
});

describe('the net round the house', () => {
  const house = (day: string) =>
    of('farmer')
      .find((round) => round.part === 'morning' && round.day === day)
      ?.calls.find(({ kind }) => kind === 'house');
  const due = of('farmer')
    .flatMap(({ calls }) => calls)
    .find(({ fence }) => fence?.paddock);
  if (!due?.fence) throw new Error('no net is shifted in these days');

  it('is shifted with one tap, to the paddock that was told, and is then done', () => {
    expect(pending(due, nothing())).toEqual(['fence', 'feed', 'water']);
    const [made] = asSaid(due, nothing(), 'fence');
    const { paddock, corners_deg } = due.fence ?? {};
    expect(corners_deg?.length).toBeGreaterThanOrEqual(6);
    expect(made).toEqual(['fence shifted', { net: due.net, to: paddock, corners_deg }]);
    if (!made) return;
    const marks = done([kept(...made)], '2027-05-02', (at) => at.slice(0, 10));
    const mine = { ...nothing(), shifted: marks.get(due.net ?? '')?.shifted ?? [] };
    expect(pending(due, mine)).toEqual(['feed', 'water']);
    expect(asSaid(due, mine, 'fence')).toEqual([]);
  });
  it('stands on other days, and the house goes on inside it', () => {
    const call = house(morning.day);
    expect(call?.fence).toBeNull();
    expect(call && asSaid(call, nothing(), 'move')[0]).toEqual([
      'shelter moved',
      { place: call?.id, to: undefined, distance_m: call?.move?.distance_m },
    ]);
  });
  it('is not to be shifted where no rested ground is left, nor by one who looks on', () => {
    const none = { ...due, fence: { ...due.fence, kind: 'none' as const, paddock: null } };
    expect(pending(none as typeof due, nothing())).toEqual(['feed', 'water']);
    const looking = of('looker-on')
      .flatMap(({ calls }) => calls)
      .find(({ fence }) => fence?.paddock);
    expect(looking && pending(looking, nothing())).toEqual([]);
  });
});

describe('roles', () => {
  const kinds = (role: Parameters<typeof of>[0]) =>
    new Set(of(role).flatMap(({ calls }) => calls.flatMap(({ records }) => records)));

  it('let a child count and no more', () => {
    expect(kinds('child')).toEqual(new Set(['eggs', 'glance', 'counted']));
    expect(of('child').every(({ calls }) => calls.every(({ kind }) => kind !== 'cattle'))).toBe(true);
  });
  it('let a looker-on write nothing', () => expect(kinds('looker-on').size).toBe(0));
  it('keep the office from a helper', () => {
    expect(kinds('helper').has('treated')).toBe(false);
    expect(kinds('helper').has('shut in')).toBe(true);
    expect(kinds('farmer').has('treated')).toBe(true);
  });
});

describe('the shut-in', () => {
  const call = evening.calls.find(({ kind }) => kind === 'house');
  if (!call) throw new Error('no house');

  it('claims no count and no reading that nobody made', () => {
    expect(allWell(call, {})).toEqual({ doors: true, water: true });
    const [[kind, data] = ['', {}]] = shutRecords(call, allWell(call, { kV: 4.5 }), true);
    expect(kind).toBe('shut in');
    expect(data).toEqual({ place: call.id, doors: true, water: true, kV: 4.5, again: true });
  });
  it('keeps what was found wrong', () => {
    expect(allWell(call, { doors: false }).doors).toBe(false);
  });
});
