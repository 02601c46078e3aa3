// Instants are UTC in milliseconds; days are civil days in the farm's zone, 'YYYY-MM-DD'.

import { type Almanac, almanacDay, almanacDayOf, almanacTime, DAY_MS } from './almanac';
import { breath } from './later';

/** Beyond this a phone's clock counts as wrong. */
export const WRONG_MS = 10 * 60_000;

/** The farm's clock less the phone's: by the server's `now`, halfway between question and answer. */
export function offset_ms(now: string, asked_ms: number, answered_ms: number): number {
  return Date.parse(now) - (asked_ms + answered_ms) / 2;
}

/** What is added to the phone's clock to get the true time: small differences are left alone. */
export function mend_ms(offset: number): number {
  return Math.abs(offset) > WRONG_MS ? offset : 0;
}

/** As records hold it: whole seconds, UTC. */
export function iso(at_ms: number): string {
  return `${new Date(at_ms).toISOString().slice(0, 19)}Z`;
}

/** Days by the Gregorian calendar, in the digits 0 to 9; most farms' own language, so that the browser reads up
 * one language only. */
const PLAIN = 'en-GB';
const formats = new Map<string, Intl.DateTimeFormat>();

function format(language: string, zone: string, shape: Intl.DateTimeFormatOptions): Intl.DateTimeFormat {
  const key = JSON.stringify([language, zone, shape]);
  let made = formats.get(key);
  if (!made) {
    made = new Intl.DateTimeFormat(language, { ...shape, timeZone: zone });
    formats.set(key, made);
  }
  return made;
}

export function dayOf(at_ms: number, zone: string): string {
  if (zone === 'UTC') return new Date(at_ms).toISOString().slice(0, 10);
  const kept = almanacDayOf(at_ms, zone);
  if (kept) return kept;
  const parts = format(PLAIN, zone, { year: 'numeric', month: '2-digit', day: '2-digit' });
  const held = Object.fromEntries(parts.formatToParts(at_ms).map(({ type, value }) => [type, value]));
  return `${held.year}-${held.month}-${held.day}`;
}

export function addDays(day: string, days: number): string {
  return new Date(Date.parse(`${day}T00:00:00Z`) + days * DAY_MS).toISOString().slice(0, 10);
}

/** Hours and minutes as the farm reads them. */
export function timeOf(at_ms: number, zone: string, language: string): string {
  return (
    almanacTime(at_ms, zone, language) ??
    format(language, zone, { hour: '2-digit', minute: '2-digit' }).format(at_ms)
  );
}

export function weekdayOf(day: string, language: string): string {
  return (
    almanacDay(day, language)?.weekday ??
    format(language, 'UTC', { weekday: 'long' }).format(Date.parse(`${day}T12:00:00Z`))
  );
}

export function dateOf(day: string, language: string): string {
  return (
    almanacDay(day, language)?.date ??
    format(language, 'UTC', { day: 'numeric', month: 'long' }).format(Date.parse(`${day}T12:00:00Z`))
  );
}

export function yearOf(day: string): string {
  return day.slice(0, 4);
}

/** The instant at which the farm's clocks show `minute` (of the day) on `day`; in a spring gap, just after. */
export function instantOf(day: string, minute: number, zone: string): number {
  const wanted = Date.parse(`${day}T00:00:00Z`) + minute * 60_000;
  let guess = wanted;
  for (let n = 0; n < 3; n++) guess += wanted - shownAs(guess, zone);
  return guess;
}

/** Minute of the day that the farm's clocks show. */
export function minuteOf(at_ms: number, zone: string): number {
  return Math.floor((shownAs(at_ms, zone) % DAY_MS) / 60_000);
}

function shownAs(at_ms: number, zone: string): number {
  const shape: Intl.DateTimeFormatOptions = {
    hourCycle: 'h23',
    year: 'numeric',
    month: '2-digit',
    day: '2-digit',
    hour: '2-digit',
    minute: '2-digit',
    second: '2-digit',
  };
  const held: Record<string, string> = {};
  for (const { type, value } of format(PLAIN, zone, shape).formatToParts(at_ms)) held[type] = value;
  const { year, month, day, hour, minute, second } = held;
  return Date.parse(`${year}-${month}-${day}T${hour}:${minute}:${second}Z`);
}

/** Where the clocks go on at midnight, a day begins at one. */
function beginningOf(day: string, zone: string): number {
  let at = instantOf(day, 0, zone);
  while (dayOf(at, zone) < day) at += 15 * 60_000;
  return at;
}

const ALMANAC_DAYS = 12;

/** From the day before yesterday on. The browser's first answer of each kind is long to wait for: one at a time. */
export async function madeAlmanac(today: string, zone: string, language: string): Promise<Almanac> {
  const time = (minute: number) => timeOf(instantOf(today, minute, zone), zone, language);
  for (const ask of [() => dateOf(today, language), () => weekdayOf(today, language), () => time(0)]) {
    await breath();
    ask();
  }
  await breath();
  const point = /^1(.)5$/.exec(new Intl.NumberFormat(language).format(1.5))?.[1];
  await breath();
  const days = Array.from({ length: ALMANAC_DAYS }, (_, n) => addDays(today, n - 2));
  return {
    zone,
    language,
    days: days.map((day) => ({
      day,
      begins: beginningOf(day, zone),
      weekday: weekdayOf(day, language),
      date: dateOf(day, language),
    })),
    plain: time(9 * 60 + 5) === '09:05' && time(13 * 60 + 5) === '13:05',
    point,
  };
}
