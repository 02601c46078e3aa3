// What the phone keeps: its own records until they are sent (and the last two weeks of everybody's), the
// rounds of the coming days, half-filled forms. Whoever follows a part of it hears when that was written, in
// this tab or in another.

import { type DBSchema, type IDBPDatabase, type IDBPTransaction, openDB, type StoreNames } from 'idb';
import type { Round } from './round';
import type { Kept } from './types';

export interface RoundRow {
  key: string;
  day: string;
  round: Round;
}

export interface DraftRow {
  key: string;
  value: unknown;
  changed: number;
}

export interface Thing {
  key: string;
  value: unknown;
}

interface Shape extends DBSchema {
  records: { key: string; value: Kept; indexes: { standing: number; day: string } };
  rounds: { key: string; value: RoundRow; indexes: { day: string } };
  drafts: { key: string; value: DraftRow };
  things: { key: string; value: Thing };
}

export type Store = StoreNames<Shape>;
export type Reading = IDBPTransaction<Shape, Store[], 'readonly'>;
export type Writing = IDBPTransaction<Shape, Store[], 'readwrite'>;

export interface Following {
  /** Once the first answer was taken. */
  first: Promise<void>;
  stop(): void;
}

const VERSION = 10;

export class Book {
  #opened: Promise<IDBPDatabase<Shape>>;
  readonly #others: BroadcastChannel | undefined;
  readonly #followers = new Set<(stores: Store[]) => void>();

  constructor(name = 'leyfold') {
    this.#opened = this.#open(name);
    if (typeof BroadcastChannel === 'undefined') return;
    this.#others = new BroadcastChannel(name);
    this.#others.onmessage = ({ data }) => this.#tell(data as Store[]);
  }

  #open(name: string): Promise<IDBPDatabase<Shape>> {
    return openDB<Shape>(name, VERSION, {
      upgrade(db) {
        const records = db.createObjectStore('records', { keyPath: 'id' });
        records.createIndex('standing', 'standing');
        records.createIndex('day', 'day');
        db.createObjectStore('rounds', { keyPath: 'key' }).createIndex('day', 'day');
        db.createObjectStore('drafts', { keyPath: 'key' });
        db.createObjectStore('things', { keyPath: 'key' });
      },
      // A newer version in another tab goes first; this page's next act fails and is told so.
      blocking: (_before, _wanted, event) => (event.target as IDBDatabase).close(),
      // Somebody had the browser clear away what it keeps, while the page was open.
      terminated: () => {
        this.#opened = this.#open(name);
        this.#tell(['records', 'rounds', 'drafts', 'things']);
      },
    });
  }

  async read<T>(stores: Store[], run: (tx: Reading) => Promise<T>): Promise<T> {
    return run((await this.#opened).transaction(stores, 'readonly'));
  }

  /** All that `run` writes, or nothing of it. In `run`, wait for nothing but the transaction itself. */
  async write<T>(stores: Store[], run: (tx: Writing) => Promise<T>): Promise<T> {
    const tx = (await this.#opened).transaction(stores, 'readwrite');
    const done = tx.done.then(
      () => undefined,
      (error: unknown) => ({ error }),
    );
    let made: T;
    try {
      made = await run(tx);
    } catch (error) {
      try {
        tx.abort();
      } catch {
        // It had ended by itself.
      }
      await done;
      throw error;
    }
    const failed = await done;
    if (failed) throw failed.error;
    this.#tell(stores);
    this.#others?.postMessage(stores);
    return made;
  }

  /** Reads, and reads again whenever one of `stores` was written. */
  follow<T>(stores: Store[], run: (tx: Reading) => Promise<T>, take: (found: T) => void): Following {
    let reading = false;
    let again = false;
    let stopped = false;
    const look = async (): Promise<void> => {
      again = reading;
      if (reading) return;
      reading = true;
      try {
        do {
          again = false;
          const found = await this.read(stores, run);
          if (!stopped) take(found);
        } while (again && !stopped);
      } finally {
        reading = false;
      }
    };
    const hear = (written: Store[]): void => {
      // A page that is on its way out may not be able to read any more.
      if (written.some((one) => stores.includes(one))) look().catch(() => undefined);
    };
    this.#followers.add(hear);
    const stop = (): void => {
      stopped = true;
      this.#followers.delete(hear);
    };
    return { first: look(), stop };
  }

  #tell(stores: Store[]): void {
    for (const hear of this.#followers) hear(stores);
  }

  async thing<T>(key: string): Promise<T | undefined> {
    return this.read(
      ['things'],
      async (tx) => (await tx.objectStore('things').get(key))?.value as T | undefined,
    );
  }

  async setThing(key: string, value: unknown): Promise<void> {
    await this.write(['things'], (tx) => tx.objectStore('things').put({ key, value }));
  }
}

/** Changes the records of `ids` that are there. */
export async function change(
  tx: Writing,
  ids: string[],
  changes: (id: string) => Partial<Kept>,
): Promise<void> {
  const records = tx.objectStore('records');
  await Promise.all(
    ids.map(async (id) => {
      const before = await records.get(id);
      if (before) await records.put({ ...before, ...changes(id) });
    }),
  );
}

/** Every key that begins so. */
export function beginning(with_: string): IDBKeyRange {
  return IDBKeyRange.bound(with_, `${with_}\uffff`);
}

export const book = new Book();
