// What the screens show and do: the phone's book as live values, and the few acts that change it.

import { type Almanac, consult, consulted } from './almanac';
import { alone } from './alone';
import { Away, asker, Refused } from './api';
import { addDays, dayOf, iso, madeAlmanac, mend_ms, offset_ms } from './clock';
import { beginning, book, change, type DraftRow, type Following, type Reading, type Thing } from './db';
import { takeForms } from './draft.svelte';
import { effective } from './effective';
import { later } from './later';
import { allowed } from './rights';
import type { Cards, Question, Round, Rounds } from './round';
import { fetchCards, fetchQuestions, fetchRounds, pull, push } from './sync';
import { type Greeting, type Kept, type Me, STANDING } from './types';
import { ulid } from './ulid';

export type Reach = 'unknown' | 'here' | 'away' | 'stranger';

/** Deaths tapped but not yet kept: they may still be taken back by the same thumb. */
export interface Loss {
  place: string;
  kind: 'found dead' | 'missing' | 'culled';
  heads: number;
  batch?: string | undefined;
  sex?: string | undefined;
  reason?: string | undefined;
  at: number;
}

/** When the rounds kept here were worked out and fetched; kinds of record by kind of place. */
interface RoundsMade {
  made_at: string;
  fetched: number;
  kinds: Record<string, string[]>;
  season?: Rounds['season'];
}

/** What was there, where what came says the same: nothing is drawn anew for it. */
function same<T>(before: T, now: T): T {
  const sizes = [before, now].map((one) => (Array.isArray(one) ? one.length : 0));
  if (before === undefined || sizes[0] !== sizes[1]) return now;
  return JSON.stringify(before) === JSON.stringify(now) ? before : now;
}

function tapped(rows: DraftRow[]): Loss[] {
  return rows.filter(({ key }) => key.startsWith(LOSS)).map(({ value }) => value as Loss);
}

/** English of no country has the day before the month, as the server's texts have it. */
function languageOf(farm: Me['farm'] | undefined): string {
  const language = farm?.language.replace('_', '-') ?? 'en';
  return language === 'en' ? 'en-GB' : language;
}

const LOSS = 'loss ';
const EVERY_MS = 30_000;
const ROUNDS_OLD_MS = 15 * 60_000;
/** So long after the last tap a death is kept. */
export const QUIET_MS = 5_000;

class Hub {
  me = $state.raw<Me | undefined>();
  device = $state('');
  #prepared = $state.raw<Round[]>([]);
  #kinds = $state.raw<Record<string, string[]>>({});
  roundsMade = $state.raw<RoundsMade | undefined>();
  cards = $state.raw<Cards | undefined>();
  questions = $state.raw<Question[]>([]);
  /** Of yesterday and today, and whatever the rounds here do not hold yet or the server would not take. */
  recent = $state.raw<Kept[]>([]);
  losses = $state.raw<Loss[]>([]);
  sentAt = $state<number | undefined>();
  reach = $state<Reach>('unknown');
  busy = $state(false);
  offset = $state(0);
  /** Writing for another time than now; null: now. */
  when = $state<number | null>(null);
  /** What was just kept, for the line that offers to take it back. */
  last = $state.raw<{ ids: string[]; said: string } | undefined>();
  minute = $state(0);

  readonly ask = asker(() => this.me?.csrf);
  #quiet: ReturnType<typeof setTimeout> | undefined;
  #soon: ReturnType<typeof setTimeout> | undefined;
  #again = false;
  #since = '';
  #following: Following[] = [];

  readonly refused = $derived(this.recent.filter(({ standing }) => standing === STANDING.refused));
  readonly unsent = $derived(this.recent.filter(({ standing }) => standing === STANDING.unsent));
  /** What stands of the recent records, by (at, id). */
  readonly standing = $derived(effective(this.recent.filter(({ standing }) => standing <= STANDING.counted)));
  /** The rounds kept here, each place with what this person may write there. */
  readonly rounds = $derived(allowed(this.#prepared, this.#kinds, this.me?.person.role));
  /** The deaths just tapped, as the records they will be. */
  readonly tapped = $derived(this.losses.map(({ kind, at: _, ...data }) => ({ kind, data: { ...data } })));

  get zone(): string {
    return this.me?.farm.zone ?? 'UTC';
  }

  get language(): string {
    return languageOf(this.me?.farm);
  }

  /** The farm's clock: the phone's, mended where it is far off. */
  now(): number {
    void this.minute; // what is shown of it goes on with the minutes
    return Date.now() + mend_ms(this.offset);
  }

  /** The instant that records get: now, or the one chosen. */
  at(): number {
    return this.when ?? this.now();
  }

  /** Nothing was ever fetched, and is being fetched now. */
  get fetching(): boolean {
    return this.busy && !this.roundsMade;
  }

  roundOf(day: string, part: Round['part']): Round | undefined {
    return this.rounds.find((round) => round.day === day && round.part === part);
  }

  /** As the rounds call a place. */
  readonly placeName = (id: string): string =>
    this.rounds.flatMap(({ calls }) => calls).find((call) => call.id === id)?.name ?? id;

  get today(): string {
    return dayOf(this.now(), this.zone);
  }

  /** Reads what the first screen shows, and follows it from then on, also when another tab writes. Throws what
   * IndexedDB throws where a browser keeps nothing. `settled`: after the first try to send and fetch. */
  async open(settled: () => void): Promise<void> {
    await book.follow(['things'], this.#readThings, this.#takeThings).first;
    if (!this.device) {
      this.device = `phone-${ulid().slice(-6).toLowerCase()}`;
      void book.setThing('device', this.device);
    }
    await this.#followDays();
    const begin = () => void this.#begin().finally(settled);
    if (this.me) later(begin);
    else begin();
  }

  /** What nobody waits for who only looks. */
  async #begin(): Promise<void> {
    book.follow(['things'], this.#readMore, this.#takeMore);
    setInterval(() => {
      this.minute = Math.floor(Date.now() / 60_000);
      this.#turnDay();
    }, 10_000);
    addEventListener('online', () => void this.sync());
    document.addEventListener('visibilitychange', () => {
      if (document.visibilityState === 'hidden') void this.keepLosses();
      else void this.sync();
    });
    addEventListener('pagehide', () => void this.keepLosses());
    setInterval(() => void this.sync(), EVERY_MS);
    await this.keepLosses();
    await this.sync();
  }

  /** What there is of today and the days beside it; anew when the day has changed. */
  async #followDays(): Promise<void> {
    for (const { stop } of this.#following) stop();
    this.#since = addDays(this.today, -1);
    this.#following = [
      book.follow(['rounds'], this.#readRounds, (rows) => {
        this.#prepared = same(
          this.#prepared,
          rows.map(({ round }) => round),
        );
      }),
      book.follow(['records'], this.#readRecords, (records) => {
        this.recent = records;
      }),
      book.follow(['drafts'], this.#readDrafts, (rows) => {
        takeForms(rows);
        this.losses = tapped(rows);
      }),
    ];
    await Promise.all(this.#following.map(({ first }) => first));
  }

  #turnDay(): void {
    if (this.#since !== addDays(this.today, -1)) void this.#followDays();
  }

  #readThings = (tx: Reading) =>
    Promise.all(
      ['me', 'device', 'offset', 'sent', 'rounds', 'questions', 'almanac'].map((key) =>
        tx.objectStore('things').get(key),
      ),
    );
  #takeThings = ([me, device, offset, sent, made, questions, almanac]: (Thing | undefined)[]): void => {
    consult(almanac?.value as Almanac | undefined);
    this.me = same(this.me, me?.value as Me | undefined);
    this.device = (device?.value as string | undefined) ?? this.device;
    this.offset = (offset?.value as number | undefined) ?? 0;
    this.sentAt = sent?.value as number | undefined;
    this.roundsMade = made?.value as RoundsMade | undefined;
    this.#kinds = same(this.#kinds, this.roundsMade?.kinds ?? {});
    this.questions = same(this.questions, (questions?.value as Question[] | undefined) ?? []);
  };
  #readMore = (tx: Reading) => tx.objectStore('things').get('cards');
  #takeMore = (cards: Thing | undefined): void => {
    this.cards = same(this.cards, cards?.value as Cards | undefined);
  };
  #readRounds = (tx: Reading) => {
    const near = IDBKeyRange.bound(addDays(this.#since, -1), addDays(this.#since, 2));
    return tx.objectStore('rounds').index('day').getAll(near);
  };
  #readDrafts = (tx: Reading) => tx.objectStore('drafts').getAll();
  #readRecords = async (tx: Reading) => {
    const records = tx.objectStore('records');
    const found = await Promise.all([
      records.index('day').getAll(IDBKeyRange.lowerBound(this.#since)),
      records.index('standing').getAll(IDBKeyRange.bound(STANDING.unsent, STANDING.sent)),
      records.index('standing').getAll(STANDING.refused),
    ]);
    return [...new Map(found.flat().map((record) => [record.id, record])).values()];
  };

  // --- acts ---------------------------------------------------------------------------------------------

  /** A record of `kind`, not yet kept. `at`: when it happened. Its times are by the farm's clock; what the
   * phone's own clock said stays readable in its id. `who`: somebody else, for whom a farmer writes. */
  record(kind: string, data: Record<string, unknown>, at = this.at(), who = this.me?.person.id): Kept {
    if (!who) throw new Error('nobody is signed in');
    const entered = this.now();
    return {
      id: ulid(),
      device: this.device,
      who,
      at: iso(Math.min(at, entered)),
      entered: iso(entered),
      kind,
      data: Object.fromEntries(Object.entries(data).filter(([, value]) => value !== undefined)),
      day: dayOf(at, this.zone),
      standing: STANDING.unsent,
    };
  }

  /** Keeps records on the phone, all or none, and sends them soon. `said`: what the undo line calls it. */
  async keep(records: Kept[], said?: string): Promise<void> {
    await book.write(['records'], (tx) =>
      Promise.all(records.map((record) => tx.objectStore('records').add(record))),
    );
    if (said) this.last = { ids: records.map(({ id }) => id), said };
    this.syncSoon();
  }

  async note(kind: string, data: Record<string, unknown>, said?: string, at?: number): Promise<Kept> {
    const record = this.record(kind, data, at);
    await this.keep([record], said);
    return record;
  }

  /** Says what a record ought to have said. */
  async correct(of: Kept, data: Record<string, unknown>): Promise<void> {
    await this.keep([this.record('correction', { of: of.id, data }, this.now())]);
  }

  /** Takes records back: a correction that voids each. */
  async undo(ids: string[]): Promise<void> {
    this.last = undefined;
    await this.keep(ids.map((of) => this.record('correction', { of, void: true }, this.now())));
  }

  /** One that the server did not take, once somebody has read why. It stays on the phone. */
  async putAside(id: string): Promise<void> {
    await book.write(['records'], (tx) => change(tx, [id], () => ({ standing: STANDING.aside })));
  }

  /** One more, or one fewer, bird dead or missing in a place. */
  async lose(loss: Omit<Loss, 'heads' | 'at'>, more: number): Promise<void> {
    const key = LOSS + loss.place;
    await book.write(['drafts'], async (tx) => {
      const drafts = tx.objectStore('drafts');
      const before = (await drafts.get(key))?.value as Loss | undefined;
      const heads = (before?.heads ?? 0) + more;
      if (heads <= 0) await drafts.delete(key);
      else
        await drafts.put({
          key,
          value: { ...before, ...loss, heads, at: before?.at ?? this.at() } satisfies Loss,
          changed: Date.now(),
        });
    });
    clearTimeout(this.#quiet);
    this.#quiet = setTimeout(() => void this.keepLosses(), QUIET_MS);
  }

  /** Turns what was tapped into records, each draft once even when two tabs try. */
  async keepLosses(): Promise<void> {
    clearTimeout(this.#quiet);
    if (!this.me) return;
    if (tapped(await book.read(['drafts'], this.#readDrafts)).length > 0) await this.#keepTapped();
    this.syncSoon();
  }

  async #keepTapped(): Promise<void> {
    await book.write(['drafts', 'records'], async (tx) => {
      const drafts = tx.objectStore('drafts');
      const rows = await drafts.getAll(beginning(LOSS));
      for (const { key, value } of rows) {
        const { kind, at, ...data } = value as Loss;
        await tx.objectStore('records').add(this.record(kind, data, at));
        await drafts.delete(key);
      }
    });
  }

  // --- sending ------------------------------------------------------------------------------------------

  syncSoon(): void {
    clearTimeout(this.#soon);
    this.#soon = setTimeout(() => void this.sync(), 700);
  }

  /** The session ends; records and rounds stay on the phone. Throws nothing: out of signal it ends here. */
  async signOut(): Promise<void> {
    await this.ask('POST', 'sign-out', {}).catch(() => undefined);
    await book.write(['things'], (tx) => tx.objectStore('things').delete('me'));
    this.me = undefined;
    this.reach = 'stranger';
  }

  /** Who this is, and how far the phone's clock is off. Throws Away or Refused. */
  async greet(): Promise<Me> {
    const asked = Date.now();
    const { now, ...me } = await this.ask<Greeting>('GET', 'me');
    this.offset = offset_ms(now, asked, Date.now());
    const almanac = await this.#newAlmanac(me.farm);
    if (almanac) consult(almanac);
    this.me = same(this.me, me);
    this.#turnDay();
    await book.write(['things'], (tx) => {
      const things = tx.objectStore('things');
      return Promise.all([
        things.put({ key: 'me', value: me }),
        things.put({ key: 'offset', value: this.offset }),
        ...(almanac ? [things.put({ key: 'almanac', value: almanac })] : []),
      ]);
    });
    return me;
  }

  /** Where the one that is consulted does not serve any more. */
  async #newAlmanac(farm: Me['farm']): Promise<Almanac | undefined> {
    const today = dayOf(this.now(), farm.zone);
    const language = languageOf(farm);
    const near = [-1, 0, 1, 2].map((days) => addDays(today, days));
    return consulted(farm.zone, language, near) ? undefined : madeAlmanac(today, farm.zone, language);
  }

  /** Sends and fetches what there is. Never throws: what went wrong shows in `reach`. */
  async sync(fresh = false): Promise<void> {
    if (document.visibilityState === 'hidden') return;
    if (this.busy) {
      this.#again = true;
      return;
    }
    this.busy = true;
    this.#again = false;
    try {
      await alone('leyfold sync', async () => {
        const me = await this.greet();
        this.reach = 'here';
        const send = () => push(book, this.ask, me, this.device, () => Date.now());
        const sent = await send();
        const { fresh: got, again } = await pull(book, this.ask, me, this.device, this.now());
        if (again) await send();
        const made = this.roundsMade;
        const old =
          !made || this.now() - made.fetched > ROUNDS_OLD_MS || dayOf(made.fetched, this.zone) !== this.today;
        if (fresh || old || again || sent + got > 0) {
          await fetchRounds(book, this.ask, me, this.now());
          if (me.rights.includes('state')) await fetchQuestions(book, this.ask);
          await fetchCards(book, this.ask);
        }
      });
    } catch (error) {
      if (error instanceof Refused && error.status === 401) this.reach = 'stranger';
      else if (error instanceof Away || error instanceof Refused) this.reach = 'away';
      else throw error;
    } finally {
      this.busy = false;
      // Something was written, or asked for, while this run was at another step.
      if (this.#again && this.reach === 'here') this.syncSoon();
    }
  }
}

export const hub = new Hub();
