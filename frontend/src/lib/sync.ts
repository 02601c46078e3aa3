// Sending and fetching. Every step can be cut off anywhere and done again: the server keeps each id once, and
// what comes back is put away in one transaction with the mark of how far it goes.

import { type Ask, Refused } from './api';
import { addDays, dayOf } from './clock';
import { type Book, beginning, change } from './db';
import type { Cards, Question, Rounds } from './round';
import { type Kept, type Me, type Pulled, type Pushed, STANDING, type Wire } from './types';

export const MOST_A_BATCH = 200;
export const DAYS_KEPT = 14;
export const DAYS_AHEAD = 8;
const WIRE = ['id', 'device', 'who', 'at', 'entered', 'kind', 'data'] as const;

export function wire(kept: Wire): Wire {
  return Object.fromEntries(WIRE.map((key) => [key, kept[key]])) as unknown as Wire;
}

/** Sends what is unsent. Gives the number of records settled. Throws Away or Refused (401, 403, 429). */
export async function push(
  book: Book,
  ask: Ask,
  me: Me,
  device: string,
  now_ms: () => number,
): Promise<number> {
  const mine = (record: Kept) => me.person.role === 'farmer' || record.who === me.person.id;
  let settled = 0;
  let size = MOST_A_BATCH;
  for (;;) {
    const batch = await unsent(book, mine, size);
    if (batch.length === 0) return settled;
    let reply: Pick<Pushed, 'accepted' | 'duplicates' | 'refused'>;
    try {
      reply = await ask<Pushed>('POST', 'sync', { device, records: batch.map(wire) });
    } catch (error) {
      if (!(error instanceof Refused) || [401, 403, 408, 429].includes(error.status)) throw error;
      // The batch as such was not taken: halve it until the one at fault is found.
      if (batch.length > 1) {
        size = Math.ceil(batch.length / 2);
        continue;
      }
      const fault = error.faults[0];
      reply = {
        accepted: [],
        duplicates: [],
        refused: batch.map(({ id }) => ({ id, why: fault?.wrong ?? error.message, mend: fault?.mend ?? '' })),
      };
    }
    const known = new Set(batch.map(({ id }) => id));
    const taken = [...reply.accepted, ...reply.duplicates].filter((id) => known.has(id));
    const refused = reply.refused.filter(({ id }) => known.has(id));
    const why = new Map(refused.map((one) => [one.id, { why: one.why, mend: one.mend }]));
    await book.write(['records', 'things'], async (tx) => {
      await change(tx, taken, () => ({ standing: STANDING.sent }));
      await change(tx, [...why.keys()], (id) => ({ standing: STANDING.refused, ...why.get(id) }));
      if (taken.length > 0) await tx.objectStore('things').put({ key: 'sent', value: now_ms() });
    });
    if (taken.length + refused.length === 0) return settled;
    settled += taken.length + refused.length;
  }
}

/** The oldest `most` records that are to be sent and are `mine`. */
function unsent(book: Book, mine: (record: Kept) => boolean, most: number): Promise<Kept[]> {
  return book.read(['records'], async (tx) => {
    const found: Kept[] = [];
    let at = await tx.objectStore('records').index('standing').openCursor(STANDING.unsent);
    for (; at && found.length < most; at = await at.continue()) if (mine(at.value)) found.push(at.value);
    return found;
  });
}

/** Another book than the one last spoken with, restored from a copy perhaps: what this phone wrote and the
 * copy may lack is sent again, and what the copy holds is read from its beginning. */
async function turnTo(book: Book, name: string, device: string): Promise<boolean> {
  if ((await book.thing('book')) === name) return false;
  return book.write(['records', 'things'], async (tx) => {
    const things = tx.objectStore('things');
    const before = await things.get('book');
    await things.put({ key: 'book', value: name });
    if (before === undefined) return false;
    await things.put({ key: 'cursor', value: 0 });
    const taken = IDBKeyRange.bound(STANDING.sent, STANDING.counted);
    const records = await tx.objectStore('records').index('standing').getAll(taken);
    const own = records.filter((record) => record.device === device).map(({ id }) => id);
    await change(tx, own, () => ({ standing: STANDING.unsent }));
    return true;
  });
}

/** Fetches what others wrote. Gives the number of records that were new here, and whether there is something
 * to be sent again. */
export async function pull(
  book: Book,
  ask: Ask,
  me: Me,
  device: string,
  now_ms: number,
): Promise<{ fresh: number; again: boolean }> {
  const oldest = addDays(dayOf(now_ms, me.farm.zone), -DAYS_KEPT);
  let fresh = 0;
  let again = false;
  for (;;) {
    const since = (await book.thing<number>('cursor')) ?? 0;
    const page = await ask<Pulled>('GET', `records?since=${since}&limit=500`);
    if (await turnTo(book, page.book, device)) {
      again = true;
      continue;
    }
    const rows = page.records
      .map((r): Kept => ({ ...wire(r), day: dayOf(Date.parse(r.at), me.farm.zone), standing: STANDING.sent }))
      .filter(({ day }) => day >= oldest);
    await book.write(['records', 'things'], async (tx) => {
      const records = tx.objectStore('records');
      const have = await Promise.all(rows.map(({ id }) => records.get(id)));
      const unknown = rows.filter((_, at) => !have[at]);
      // One that is stored there is sent, even where the answer that said so was lost.
      const lost = have.filter((one): one is Kept => one?.standing === STANDING.unsent);
      const ids = lost.map(({ id }) => id);
      await change(tx, ids, () => ({ standing: STANDING.sent }));
      await Promise.all(unknown.map((row) => records.add(row)));
      await tx.objectStore('things').put({ key: 'cursor', value: page.cursor });
      fresh += unknown.length;
    });
    if (!page.more || page.cursor <= since) break;
  }
  await forget(book, oldest);
  return { fresh, again };
}

/** What is older than `before`, and counted, goes from the phone. */
async function forget(book: Book, before: string): Promise<void> {
  const older = IDBKeyRange.upperBound(before, true);
  const old = await book.read(['records'], (tx) => tx.objectStore('records').index('day').getAll(older));
  const gone = old.filter(({ standing }) => standing === STANDING.counted);
  if (gone.length === 0) return;
  await book.write(['records'], (tx) =>
    Promise.all(gone.map(({ id }) => tx.objectStore('records').delete(id))),
  );
}

/** Fetches the rounds: today's, for whoever waits for them, and then those of all the coming days. What was
 * sent before a question is in its answer. */
export async function fetchRounds(book: Book, ask: Ask, me: Me, now_ms: number): Promise<void> {
  const today = dayOf(now_ms, me.farm.zone);
  await fetchDays(book, ask, today, 1, 0);
  await fetchDays(book, ask, today, me.rights.includes('week') ? DAYS_AHEAD : 2, now_ms);
}

/** `fetched`: when, once these are all the days that are kept; 0: others keep standing as they were, and are
 * fetched the next time if they cannot be now. */
async function fetchDays(book: Book, ask: Ask, today: string, days: number, fetched: number): Promise<void> {
  const sent = await book.read(['records'], (tx) =>
    tx.objectStore('records').index('standing').getAllKeys(STANDING.sent),
  );
  const answer = await ask<Rounds>('GET', `rounds?first=${today}&days=${days}`, undefined, 60_000);
  const made = { made_at: answer.made_at, fetched, kinds: answer.records, season: answer.season };
  await book.write(['records', 'rounds', 'things'], async (tx) => {
    const rounds = tx.objectStore('rounds');
    if (fetched) {
      await rounds.delete(IDBKeyRange.lowerBound(today));
      await rounds.delete(IDBKeyRange.upperBound(addDays(today, -2), true));
      await change(tx, sent, () => ({ standing: STANDING.counted }));
    } else await rounds.delete(beginning(today));
    await Promise.all(
      answer.rounds.map((one) => {
        const round = fetched || sent.length === 0 ? one : { ...one, holds: sent };
        return rounds.put({ key: `${one.day} ${one.part}`, day: one.day, round });
      }),
    );
    await tx.objectStore('things').put({ key: 'rounds', value: made });
  });
}

/** What to do when something happened. A server of an older version may have none. */
export async function fetchCards(book: Book, ask: Ask): Promise<void> {
  try {
    await book.setThing('cards', await ask<Cards>('GET', 'cards'));
  } catch (error) {
    if (!(error instanceof Refused && error.status === 404)) throw error;
  }
}

export async function fetchQuestions(book: Book, ask: Ask): Promise<void> {
  const state = await ask<{ questions?: Question[] }>('GET', 'state');
  await book.setThing('questions', state.questions ?? []);
}
