// What the phone keeps: its own records until they are sent (and the last two weeks of everybody's), the
// rounds of the coming days, half-filled forms.

import { Dexie, type EntityTable } from 'dexie';
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

export class Book extends Dexie {
  declare records: EntityTable<Kept, 'id'>;
  declare rounds: EntityTable<RoundRow, 'key'>;
  declare drafts: EntityTable<DraftRow, 'key'>;
  declare things: EntityTable<Thing, 'key'>;

  constructor(name = 'leyfold') {
    super(name);
    this.version(1).stores({
      records: 'id, standing, day',
      rounds: 'key, day',
      drafts: 'key',
      things: 'key',
    });
  }

  async thing<T>(key: string): Promise<T | undefined> {
    return (await this.things.get(key))?.value as T | undefined;
  }

  async setThing(key: string, value: unknown): Promise<void> {
    await this.things.put({ key, value });
  }
}

export const book = new Book();
