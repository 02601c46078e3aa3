// A half-filled form, kept in IndexedDB at every tap: it survives a reload, an update, a phone that dies.

import { book } from './db';

export class Draft<T extends object> {
  value = $state.raw<T>() as T;
  readonly #key: string;
  readonly #empty: T;
  #touched = false;

  constructor(key: string, empty: T) {
    this.#key = `form ${key}`;
    this.#empty = empty;
    this.value = empty;
    void book
      .read(['drafts'], (tx) => tx.objectStore('drafts').get(this.#key))
      .then((row) => {
        if (row && !this.#touched) this.value = { ...empty, ...(row.value as T) };
      });
  }

  get begun(): boolean {
    return this.value !== this.#empty;
  }

  set(changes: Partial<T>): void {
    this.#touched = true;
    this.value = { ...this.value, ...changes };
    const row = { key: this.#key, value: $state.snapshot(this.value), changed: Date.now() };
    void book.write(['drafts'], (tx) => tx.objectStore('drafts').put(row));
  }

  clear(): void {
    this.#touched = true;
    this.value = this.#empty;
    void book.write(['drafts'], (tx) => tx.objectStore('drafts').delete(this.#key));
  }
}
