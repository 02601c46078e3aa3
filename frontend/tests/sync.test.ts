import { beforeEach, describe, expect, it } from 'vitest';
import { type Ask, Away, Refused } from '../src/lib/api';
import { Book } from '../src/lib/db';
import { headsNow } from '../src/lib/overlay';
import { fetchRounds, MOST_A_BATCH, pull, push } from '../src/lib/sync';
import { type Kept, type Me, type Pushed, STANDING, type Wire } from '../src/lib/types';
import { kept } from './records';

const me: Me = {
  person: { id: 'runa', name: 'Runa', role: 'farmer' },
  rights: [],
  csrf: 'x',
  farm: {
    name: 'F',
    zone: 'Europe/Stockholm',
    language: 'en',
    currency: 'EUR',
    lengths: 'metric',
    measures: {},
    people: [],
  },
  practice: false,
  version: '1',
};
const AT = '2027-05-02T06:00:00Z';
const NOW = Date.parse(AT);
let book: Book;
let server: Map<string, Wire>;
let asked: string[];
let lose = 0;
let name = 'b1';

const ask: Ask = async <T>(method: string, path: string, body?: unknown): Promise<T> => {
  asked.push(`${method} ${path}`);
  if (path === 'sync') {
    const { records } = body as { records: Wire[] };
    const reply: Pushed = { accepted: [], duplicates: [], refused: [], flagged: [], cursor: 0, book: name };
    if (records.some(({ kind }) => kind === 'monstrous'))
      throw new Refused(422, 'bad', 'no', [{ where: '', field: '', wrong: 'w', mend: 'm' }]);
    for (const record of records) {
      if (record.kind === 'odd') reply.refused.push({ id: record.id, why: 'odd', mend: 'mend' });
      else if (server.has(record.id)) reply.duplicates.push(record.id);
      else {
        server.set(record.id, record);
        reply.accepted.push(record.id);
      }
    }
    if (lose-- > 0) throw new Away();
    return reply as T;
  }
  if (path.startsWith('records')) {
    const since = Number(new URLSearchParams(path.split('?')[1]).get('since'));
    const all = [...server.values()].slice(since, since + 3);
    return {
      records: all,
      cursor: since + all.length,
      book: name,
      more: since + all.length < server.size,
    } as T;
  }
  return { made_at: AT, records: {}, rounds: [] } as T;
};
const send = () => push(book, ask, me, 'd', () => NOW);
const add = (...records: Kept[]) =>
  book.write(['records'], (tx) => Promise.all(records.map((one) => tx.objectStore('records').add(one))));
const all = () => book.read(['records'], (tx) => tx.objectStore('records').getAll());
const get = (id: string) => book.read(['records'], (tx) => tx.objectStore('records').get(id));
const standings = async () => (await all()).map(({ standing }) => standing);

beforeEach(async () => {
  book = new Book(`test ${Math.random()}`);
  server = new Map();
  asked = [];
  lose = 0;
  name = 'b1';
});

describe('sending', () => {
  it('goes in batches, and each record is then sent', async () => {
    await add(...Array.from({ length: MOST_A_BATCH + 1 }, () => kept('eggs', { place: 'c', eggs: 1 })));
    expect(await send()).toBe(MOST_A_BATCH + 1);
    expect(asked).toEqual(['POST sync', 'POST sync']);
    expect(new Set(await standings())).toEqual(new Set([STANDING.sent]));
    expect(await book.thing('sent')).toBe(NOW);
  });

  it('survives a lost reply: sent again, stored once', async () => {
    await add(kept('eggs', { place: 'c', eggs: 1 }));
    lose = 1;
    await expect(send()).rejects.toBeInstanceOf(Away);
    expect(await standings()).toEqual([STANDING.unsent]);
    expect(await send()).toBe(1);
    expect(server.size).toBe(1);
  });

  it('keeps what is refused, with the reason, and sends the rest', async () => {
    const odd = kept('odd', {});
    await add(...[kept('eggs', {}), odd, kept('eggs', {})]);
    expect(await send()).toBe(3);
    expect(await get(odd.id)).toMatchObject({
      standing: STANDING.refused,
      why: 'odd',
      mend: 'mend',
    });
    expect(server.size).toBe(2);
  });

  it('finds the one for which a whole batch is refused', async () => {
    const bad = kept('monstrous', {});
    await add(...[...Array.from({ length: 9 }, () => kept('eggs', {})), bad]);
    await send();
    expect(server.size).toBe(9);
    expect(await get(bad.id)).toMatchObject({ standing: STANDING.refused, why: 'w' });
  });

  it("leaves another person's records until that person is here", async () => {
    await add(...[kept('eggs', {}), { ...kept('eggs', {}), who: 'odd' }]);
    const helper: Me = { ...me, person: { id: 'odd', name: 'Odd', role: 'helper' } };
    expect(await push(book, ask, helper, 'd', () => NOW)).toBe(1);
    expect((await standings()).sort()).toEqual([STANDING.unsent, STANDING.sent]);
  });
});

describe('fetching', () => {
  it('takes every page once and knows its own again', async () => {
    const own = kept('eggs', {});
    await add(own);
    for (const record of [own, ...Array.from({ length: 7 }, () => kept('fed', {}))])
      server.set(record.id, record);
    expect(await pull(book, ask, me, 'd', NOW)).toEqual({ fresh: 7, again: false });
    expect((await all()).length).toBe(8);
    // Its reply was lost, but there it is.
    expect((await get(own.id))?.standing).toBe(STANDING.sent);
    expect((await pull(book, ask, me, 'd', NOW)).fresh).toBe(0);
  });

  it('sends again what a restored book may lack, and reads it from its beginning', async () => {
    const own = kept('eggs', {});
    await add(own);
    await send();
    await pull(book, ask, me, 'd', NOW);
    const other = kept('fed', {});
    server = new Map([[other.id, { ...other, device: 'e' }]]);
    name = 'b2';
    expect(await pull(book, ask, me, 'd', NOW)).toEqual({ fresh: 1, again: true });
    await send();
    expect([...server.keys()].sort()).toEqual([own.id, other.id].sort());
  });

  it('does not fill the phone with what is long past', async () => {
    const old = kept('eggs', {}, '2027-01-01T06:00:00Z');
    server.set(old.id, old);
    await pull(book, ask, me, 'd', NOW);
    expect((await all()).length).toBe(0);
  });

  it('counts what was sent before the rounds were asked for, not what came while they travelled', async () => {
    const before = kept('found dead', {}, AT, STANDING.sent);
    const later = kept('found dead', {}, AT, STANDING.sent);
    await add(before);
    const slow: Ask = async <T>(method: 'GET' | 'POST', path: string): Promise<T> => {
      if (path.endsWith('days=2')) await add(later);
      return ask<T>(method, path);
    };
    await fetchRounds(book, slow, me, NOW);
    expect((await get(before.id))?.standing).toBe(STANDING.counted);
    expect((await get(later.id))?.standing).toBe(STANDING.sent);
  });

  it("asks for today's round first, and leaves all days as they are where the rest does not come", async () => {
    const dead = kept('found dead', { place: 'c', batch: 'b', heads: 2 }, AT, STANDING.sent);
    const at = (day: string, heads: number) => {
      const call = { id: 'c', heads, parties: [{ batch: 'b', sex: null, heads }] };
      return ['morning', 'evening'].map((part) => ({ day, part, calls: [call] }));
    };
    let [heads, away] = [10, false];
    const days = ['2027-05-02', '2027-05-03', '2027-05-04'];
    const farm: Ask = async <T>(_method: string, path: string): Promise<T> => {
      asked.push(path);
      const wanted = Number(new URLSearchParams(path.split('?')[1]).get('days'));
      if (away && wanted > 1) throw new Away();
      return {
        made_at: AT,
        records: {},
        rounds: days.slice(0, wanted).flatMap((day) => at(day, heads)),
      } as T;
    };
    const shown = async () => {
      const rows = await book.read(['rounds'], (tx) => tx.objectStore('rounds').getAll());
      const records = await all();
      return rows.map(({ round }) => headsNow(round.calls, records, [], round.holds).get('c'));
    };
    const farmer = { ...me, rights: ['week'] };
    await fetchRounds(book, farm, farmer, NOW);
    expect(asked).toEqual(['rounds?first=2027-05-02&days=1', 'rounds?first=2027-05-02&days=8']);
    expect(await shown()).toEqual([10, 10, 10, 10, 10, 10]);
    await add(dead);
    [heads, away] = [8, true];
    await expect(fetchRounds(book, farm, farmer, NOW)).rejects.toBeInstanceOf(Away);
    // Today's holds the two dead, those of the other days do not: each shows eight.
    expect(await shown()).toEqual([8, 8, 8, 8, 8, 8]);
    expect((await get(dead.id))?.standing).toBe(STANDING.sent);
    expect(await book.thing('rounds')).toMatchObject({ fetched: 0 });
    away = false;
    await fetchRounds(book, farm, farmer, NOW);
    expect(await shown()).toEqual([8, 8, 8, 8, 8, 8]);
    expect((await get(dead.id))?.standing).toBe(STANDING.counted);
    expect(await book.thing('rounds')).toMatchObject({ fetched: NOW });
  });
});
