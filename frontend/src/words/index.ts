// The app's own sentences. What the server prepared comes with its own words.

import { almanacNumber } from '../lib/almanac';
import { en, type Key } from './en';

const tables: Record<string, Record<Key, string>> = { en };
let table: Record<Key, string> = en;
let spoken = 'en';
let ruled = 'en';
let rules: Intl.PluralRules | undefined;
let numbers: Intl.NumberFormat | undefined;

/** The farm's language: its words where there are some, its forms of numbers in any case. */
export function speak(language: string): void {
  const short = language.split(/[-_]/)[0] ?? 'en';
  table = tables[short] ?? en;
  spoken = language;
  ruled = tables[short] ? language : 'en';
  rules = undefined;
  numbers = undefined;
}

/** Whether a number goes with the first of two words. */
function isOne(value: number): boolean {
  rules ??= new Intl.PluralRules(ruled);
  return rules.select(value) === 'one';
}

/** A sentence, its {gaps} filled. `one|many` in a gap's name, as in {n:bird|birds}, follows the number. */
export function say(key: Key, gaps: Record<string, string | number> = {}): string {
  return table[key].replace(
    /\{(\w+)(?::([^|}]*)\|([^}]*))?\}/g,
    (_, name: string, one?: string, many?: string) => {
      const value = gaps[name];
      if (value === undefined) throw new Error(`${key}: nothing for {${name}}`);
      if (one !== undefined && many !== undefined) return isOne(Number(value)) ? one : many;
      return typeof value === 'number' ? number(value) : value;
    },
  );
}

export function number(value: number): string {
  const kept = almanacNumber(value, spoken);
  if (kept) return kept;
  numbers ??= new Intl.NumberFormat(spoken, { maximumFractionDigits: 2 });
  return numbers.format(value);
}

const QUARTERS: Record<string, string> = { '0.25': '¼', '0.5': '½', '0.75': '¾' };

/** A number as it is said of buckets: 3½. */
export function amount(value: number): string {
  const whole = Math.floor(value);
  const part = QUARTERS[String(value - whole)];
  return part ? `${whole > 0 ? number(whole) : ''}${part}` : number(value);
}
