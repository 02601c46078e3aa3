// Sending and fetching. Every step can be cut off anywhere and done again: the server keeps each id once, and
// what comes back is put away in one transaction with the mark of how far it goes.

import { type Ask, Refused } from './api';
import { addDays, dayOf } from './clock';
import type { Book } from './db';
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
    const unsent = book.records.where('standing').equals(STANDING.unsent);
    const batch = await unsent.filter(mine).limit(size).toArray();
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
    await book.transaction('rw', book.records, book.things, async () => {
      await book.records.bulkUpdate(taken.map((key) => ({ key, changes: { standing: STANDING.sent } })));
      await book.records.bulkUpdate(
        refused.map(({ id: key, why, mend }) => ({
          key,
          changes: { standing: STANDING.refused, why, mend },
        })),
      );
      if (taken.length > 0) await book.setThing('sent', now_ms());
    });
    if (taken.length + refused.length === 0) return settled;
    settled += taken.length + refused.length;
  }
}

/** Another book than the one last spoken with, restored from a copy perhaps: what this phone wrote and the
 * copy may lack is sent again, and what the copy holds is read from its beginning. */
async function turnTo(book: Book, name: string, device: string): Promise<boolean> {
  return book.transaction('rw', book.records, book.things, async () => {
    const before = await book.thing<string>('book');
    if (before === name) return false;
    await book.setThing('book', name);
    if (before === undefined) return false;
    await book.setThing('cursor', 0);
    await book.records
      .where('standing')
      .anyOf(STANDING.sent, STANDING.counted)
      .filter((record) => record.device === device)
      .modify({ standing: STANDING.unsent });
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
    await book.transaction('rw', book.records, book.things, async () => {
      const have = await book.records.bulkGet(rows.map(({ id }) => id));
      const unknown = rows.filter((_, at) => !have[at]);
      // One that is stored there is sent, even where the answer that said so was lost.
      const lost = have.filter((one): one is Kept => one?.standing === STANDING.unsent);
      await book.records.bulkUpdate(
        lost.map(({ id: key }) => ({ key, changes: { standing: STANDING.sent } })),
      );
      await book.records.bulkAdd(unknown);
      await book.setThing('cursor', page.cursor);
      fresh += unknown.length;
    });
    if (!page.more || page.cursor <= since) break;
  }
  await book.records
    .where('day')
    .below(oldest)
    .filter(({ standing }) => standing === STANDING.counted)
    .delete();
  return { fresh, again };
}

/** Fetches the rounds of the coming days. What was sent before the question is in the answer. */
export async function fetchRounds(book: Book, ask: Ask, me: Me, now_ms: number): Promise<void> {
  const today = dayOf(now_ms, me.farm.zone);
  const days = me.rights.includes('week') ? DAYS_AHEAD : 2;
  const sent = await book.records.where('standing').equals(STANDING.sent).primaryKeys();
  const answer = await ask<Rounds>('GET', `rounds?first=${today}&days=${days}`, undefined, 60_000);
  const rows = answer.rounds.map((round) => ({ key: `${round.day} ${round.part}`, day: round.day, round }));
  await book.transaction('rw', book.records, book.rounds, book.things, async () => {
    await book.rounds.filter(({ day }) => day >= today || day < addDays(today, -2)).delete();
    await book.rounds.bulkPut(rows);
    await book.records.bulkUpdate(sent.map((key) => ({ key, changes: { standing: STANDING.counted } })));
    await book.setThing('rounds', { made_at: answer.made_at, fetched: now_ms, kinds: answer.records });
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
