// Days, times and numbers as Intl told them once, kept for the next start: its first answer alone takes a slow
// phone a fifth of a second. Whatever does not stand here Intl is asked for, as ever.

export interface Almanac {
  zone: string;
  language: string;
  /** Each begins where the one before ends; of the last only the beginning holds. */
  days: { day: string; begins: number; weekday: string; date: string }[];
  /** Whether times are told as 09:05 and 13:05. */
  plain: boolean;
  /** What stands before the decimals; undefined where digits are not 0 to 9. */
  point: string | undefined;
}

export const DAY_MS = 86_400_000;
let almanac: Almanac | undefined;

export function consult(kept: Almanac | undefined): void {
  almanac = kept;
}

/** Whether what is consulted serves on all of `days`. */
export function consulted(zone: string, language: string, days: string[]): boolean {
  return almanac?.zone === zone && days.every((day) => almanacDay(day, language));
}

export function almanacDay(day: string, language: string): Almanac['days'][number] | undefined {
  return almanac?.language === language ? almanac.days.find((one) => one.day === day) : undefined;
}

/** The civil day of an instant, from its beginning up to the next. */
function spanOf(at_ms: number, zone: string): { day: string; begins: number; ends: number } | undefined {
  if (almanac?.zone !== zone) return undefined;
  const next = almanac.days.findIndex(({ begins }) => begins > at_ms);
  const [here, after] = [almanac.days[next - 1], almanac.days[next]];
  return here && after && { day: here.day, begins: here.begins, ends: after.begins };
}

export function almanacDayOf(at_ms: number, zone: string): string | undefined {
  return spanOf(at_ms, zone)?.day;
}

/** On days without a change of the clocks, where times are told plainly. */
export function almanacTime(at_ms: number, zone: string, language: string): string | undefined {
  if (almanac?.language !== language || !almanac.plain) return undefined;
  const span = spanOf(at_ms, zone);
  return span && span.ends - span.begins === DAY_MS
    ? new Date(at_ms - span.begins).toISOString().slice(11, 16)
    : undefined;
}

/** Of numbers from 0 up to a thousand with at most two decimals. */
export function almanacNumber(value: number, language: string): string | undefined {
  const short = value >= 0 && value < 1000 && Math.round(value * 100) / 100 === value;
  if (!short || almanac?.language !== language || almanac.point === undefined) return undefined;
  return String(value).replace('.', almanac.point);
}
