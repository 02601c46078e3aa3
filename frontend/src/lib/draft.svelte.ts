// A half-filled form, kept in IndexedDB at every tap: it survives a reload, an update, a phone that dies.

import { book, type DraftRow } from './db';

const FORM = 'form ';
/** All that are kept, read with what the first screen shows. */
const kept = new Map<string, unknown>();

export function takeForms(rows: DraftRow[]): void {
  kept.clear();
  for (const { key, value } of rows) if (key.startsWith(FORM)) kept.set(key, value);
}

export class Draft<T extends object> {
  value = $state.raw<T>() as T;
  readonly #key: string;
  readonly #empty: T;

  constructor(key: string, empty: T) {
    this.#key = FORM + key;
    this.#empty = empty;
    const before = kept.get(this.#key) as T | undefined;
    this.value = before ? { ...empty, ...before } : empty;
  }

  get begun(): boolean {
    return this.value !== this.#empty;
  }

  set(changes: Partial<T>): void {
    this.value = { ...this.value, ...changes };
    kept.set(this.#key, this.value);
    const row = { key: this.#key, value: $state.snapshot(this.value), changed: Date.now() };
    void book.write(['drafts'], (tx) => tx.objectStore('drafts').put(row));
  }

  clear(): void {
    this.value = this.#empty;
    kept.delete(this.#key);
    void book.write(['drafts'], (tx) => tx.objectStore('drafts').delete(this.#key));
  }
}
