import { describe, expect, it } from 'vitest';
import { consult, consulted } from '../src/lib/almanac';
import {
  addDays,
  dateOf,
  dayOf,
  instantOf,
  iso,
  madeAlmanac,
  mend_ms,
  minuteOf,
  offset_ms,
  timeOf,
  weekdayOf,
} from '../src/lib/clock';
import { effective } from '../src/lib/effective';
import { lines } from '../src/lib/export';
import { ulid } from '../src/lib/ulid';
import { number, say, speak } from '../src/words';
import { en } from '../src/words/en';
import { kept } from './records';

describe('ULIDs', () => {
  it('rise, also within a millisecond and when the clock steps back', () => {
    const made = [...Array.from({ length: 5000 }, () => ulid(1000)), ulid(999), ulid(1001), ulid(5)];
    expect([...made].sort()).toEqual(made);
    expect(new Set(made).size).toBe(made.length);
    for (const one of made) expect(one).toMatch(/^[0-7][0-9A-HJKMNP-TV-Z]{25}$/);
  });
  it('begin with the time', () => {
    const value = (text: string) =>
      [...text].reduce((sum, letter) => sum * 32 + '0123456789ABCDEFGHJKMNPQRSTVWXYZ'.indexOf(letter), 0);
    // The example that the specification's readme gives.
    expect(value('01ARYZ6S41')).toBe(1469918176385);
    expect(value(ulid(Date.UTC(2100, 0, 1)).slice(0, 10))).toBe(Date.UTC(2100, 0, 1));
  });
  it('refuse a time they cannot hold', () => {
    expect(() => ulid(-1)).toThrow(RangeError);
    expect(() => ulid(2 ** 48)).toThrow(RangeError);
  });
});

describe('the clock', () => {
  const zone = 'Europe/Stockholm';
  it('finds the civil day of an instant', () => {
    expect(dayOf(Date.parse('2027-05-01T21:59:59Z'), zone)).toBe('2027-05-01');
    expect(dayOf(Date.parse('2027-05-01T22:00:00Z'), zone)).toBe('2027-05-02');
    expect(addDays('2027-02-28', 1)).toBe('2027-03-01');
  });
  it('goes from a time of day to an instant and back, over both changes of the clocks', () => {
    for (const day of ['2027-03-27', '2027-03-28', '2027-03-29', '2027-10-30', '2027-10-31', '2027-11-01']) {
      for (const minute of [0, 59, 241, 720, 1439]) {
        const at = instantOf(day, minute, zone);
        expect([dayOf(at, zone), minuteOf(at, zone)]).toEqual([day, minute]);
      }
    }
  });
  it('mends only a clock that is far off', () => {
    expect(
      offset_ms(
        '2027-05-02T06:00:10Z',
        Date.parse('2027-05-02T06:00:00Z'),
        Date.parse('2027-05-02T06:00:00Z'),
      ),
    ).toBe(10_000);
    expect(mend_ms(599_000)).toBe(0);
    expect(mend_ms(-601_000)).toBe(-601_000);
  });
  it('writes whole seconds in UTC', () => expect(iso(1500)).toBe('1970-01-01T00:00:01Z'));
});

describe('the almanac', () => {
  const HOUR_MS = 3_600_000;
  it('says what Intl says, over both changes of the clocks, and leaves the rest to it', async () => {
    const zones = ['Europe/Stockholm', 'America/Sao_Paulo', 'Asia/Kathmandu', 'Africa/Cairo', 'UTC'];
    for (const today of [
      '2027-03-27',
      '2027-04-29',
      '2027-10-30',
      '2027-12-31',
      '2018-11-03',
      '2018-02-17',
    ]) {
      for (const [n, zone] of zones.entries()) {
        const language = ['en-GB', 'en-US', 'da', 'ar-EG', 'ne'][n] ?? 'en';
        const first = Date.parse(`${today}T00:07:00Z`) - 96 * HOUR_MS;
        const hours = Array.from({ length: 16 * 24 }, (_, hour) => first + hour * HOUR_MS);
        const days = Array.from({ length: 16 }, (_, more) => addDays(today, more - 4));
        const all = () => [
          ...hours.map((at) => `${dayOf(at, zone)} ${timeOf(at, zone, language)}`),
          ...days.map((day) => `${weekdayOf(day, language)} ${dateOf(day, language)}`),
          ...[0, 7, 999, 1000, 2.5, 3.25, 1.005, -1].map((value) => number(value)),
        ];
        consult(undefined);
        speak(language);
        const plain = all();
        consult(await madeAlmanac(today, zone, language));
        speak(language);
        expect(consulted(zone, language, [today])).toBe(true);
        expect(all()).toEqual(plain);
      }
    }
    consult(undefined);
    speak('en');
  });
});

describe('corrections', () => {
  const dead = kept('found dead', { place: 's1', heads: 2 });
  const back = kept('correction', { of: dead.id, void: true }, '2027-05-02T07:00:00Z');
  const again = kept('correction', { of: back.id, void: true }, '2027-05-02T08:00:00Z');
  const three = kept('correction', { of: dead.id, data: { place: 's1', heads: 3 } }, '2027-05-02T07:30:00Z');

  it('take a record back, and can be taken back', () => {
    expect(effective([dead, back])).toEqual([]);
    expect(effective([again, back, dead])).toEqual([dead]);
  });
  it('put other data in place, a later one over an earlier one', () => {
    expect(effective([dead, three])[0]?.data.heads).toBe(3);
    // Saying what it was brings back what was voided before.
    expect(effective([dead, back, three])[0]?.data.heads).toBe(3);
  });
  it('of what is not here change nothing', () => expect(effective([back])).toEqual([]));
});

describe('words', () => {
  it('follow the number', () => {
    expect(say('eggs_kept', { n: 1 })).toBe('1 egg gathered');
    expect(say('eggs_kept', { n: 12 })).toBe('12 eggs gathered');
  });
  it('are each used somewhere', async () => {
    const files = import.meta.glob<string>('../src/**/*.{svelte,ts}', {
      query: '?raw',
      import: 'default',
      eager: true,
    });
    const code = Object.entries(files)
      .filter(([name]) => !name.endsWith('/en.ts'))
      .map(([, text]) => text)
      .join('\n');
    const said = (key: string) =>
      code.includes(`'${key}'`) ||
      [...code.matchAll(/`(\w+_)\$\{/g)].some(([, start]) => key.startsWith(start ?? '-'));
    expect(Object.keys(en).filter((key) => !said(key))).toEqual([]);
  });
});

describe('the file of unsent records', () => {
  it('has the lines of records.jsonl and nothing of the phone', () => {
    const record = kept('eggs', { place: 'caravan', eggs: 3 });
    const [line, rest] = lines([record]).split('\n');
    expect(rest).toBe('');
    expect(Object.keys(JSON.parse(line ?? ''))).toEqual([
      'id',
      'device',
      'who',
      'at',
      'entered',
      'kind',
      'data',
    ]);
  });
});
