// The app's own sentences. What the server prepared comes with its own words.

import { en, type Key } from './en';

const tables: Record<string, Record<Key, string>> = { en };
let table: Record<Key, string> = en;
let rules = new Intl.PluralRules('en');
let numbers = new Intl.NumberFormat('en');

/** The farm's language: its words where there are some, its forms of numbers in any case. */
export function speak(language: string): void {
  const short = language.split(/[-_]/)[0] ?? 'en';
  table = tables[short] ?? en;
  rules = new Intl.PluralRules(tables[short] ? language : 'en');
  numbers = new Intl.NumberFormat(language, { maximumFractionDigits: 2 });
}

/** A sentence, its {gaps} filled. `one|many` in a gap's name, as in {n:bird|birds}, follows the number. */
export function say(key: Key, gaps: Record<string, string | number> = {}): string {
  return table[key].replace(
    /\{(\w+)(?::([^|}]*)\|([^}]*))?\}/g,
    (_, name: string, one?: string, many?: string) => {
      const value = gaps[name];
      if (value === undefined) throw new Error(`${key}: nothing for {${name}}`);
      if (one !== undefined && many !== undefined) return rules.select(Number(value)) === 'one' ? one : many;
      return typeof value === 'number' ? numbers.format(value) : value;
    },
  );
}

export function number(value: number): string {
  return numbers.format(value);
}

const QUARTERS: Record<string, string> = { '0.25': '¼', '0.5': '½', '0.75': '¾' };

/** A number as it is said of buckets: 3½. */
export function amount(value: number): string {
  const whole = Math.floor(value);
  const part = QUARTERS[String(value - whole)];
  return part ? `${whole > 0 ? numbers.format(whole) : ''}${part}` : numbers.format(value);
}
