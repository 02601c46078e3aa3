// The round as the server prepares it (src/leyfold/nouns/round.py): texts ready to show, numbers bare and in
// SI; null means unknown.

export interface Party {
  batch: string;
  line: string;
  sex: 'pullet' | 'cockerel' | null;
  heads: number;
  age_d: number;
  weight_kg: number | null;
  who: string;
}

export interface Move {
  kind: string;
  said: string;
  times: number;
  before: string | null;
  to: string | null;
  field: string | null;
  distance_m: number | null;
  paces: number | null;
}

export interface Feeding {
  feed: string;
  kg: number;
  measure: string | null;
  measures: number | null;
  said: string;
}

export interface Watering {
  litres: number;
  fills: number | null;
  refill_at: string | null;
  said: string;
}

export interface Check {
  key: string;
  ask: 'tick' | 'number';
  said: string;
  expected: number | null;
  least: number | null;
}

export interface Call {
  id: string;
  name: string;
  kind: 'incubator' | 'brooder' | 'shelter' | 'house' | 'cattle';
  number: string;
  who: string;
  heads: number;
  parties: Party[];
  move: Move | null;
  feeds: Feeding[];
  water: Watering | null;
  eggs: number | null;
  checks: Check[];
  today: string[];
  cautions: string[];
  withdrawal_until: string | null;
  ring_at: number | null;
  sick: boolean;
  records: string[];
  /** The net round the house. */
  net?: string | null;
}

export interface StopOrder {
  why: string;
  where: string;
  said: string;
  act: string;
}

export interface Warning {
  kind: string;
  grade: number;
  heads: number;
  where: string[];
  short: string;
  said: string;
  act: string;
}

export interface DueItem {
  day: string;
  what: string;
  batch: string | null;
  place: string | null;
  number: number | null;
  said: string;
}

export interface Told {
  said: string;
}

export interface Hand {
  id: string;
  name: string;
  role: string;
}

export interface EveningPage {
  night_said: string;
  origin: string;
  cold: (Told & { place: string; grade: number })[];
  gusts: (Told & { place: string; grade: number })[];
  tomorrow: Told & { day: string; litres: number; fills: string[]; shade: string | null };
  ground: (Told & { place: string; days: number | null })[];
  feed: (Told & { what: string })[];
  tank: (Told & { what: string }) | null;
  hands: Hand[];
  notes: string[];
}

export interface Round {
  day: string;
  part: 'morning' | 'evening';
  said: string;
  sunrise: string | null;
  sunset: string | null;
  shut_in: string | null;
  light_said: string;
  heads: number;
  stops: StopOrder[];
  warnings: Warning[];
  more: number;
  calls: Call[];
  due: DueItem[];
  evening: EveningPage | null;
}

export interface Rounds {
  made_at: string;
  inputs_sha256: string;
  rounds: Round[];
}

export interface Fact {
  field: string;
  ask: 'number' | 'place' | 'batch' | 'choice' | 'tick' | 'time';
  said: string;
  choices: [string, string][];
  least: number;
  most: number | null;
}

/** One "something happened". */
export interface Card {
  id: string;
  said: string;
  facts: Fact[];
  records: string[];
  stop: string | null;
  now: string[];
  before_dark: string[];
  cautions: string[];
  telephone: string[];
  replan: string | null;
}

export interface Cards {
  cards: Card[];
}

/** Something the book cannot settle by itself. `of`: the records it is about. */
export interface Question {
  of: string[];
  kind: string;
  said: string;
  choices: { keep: string; said: string; data?: Record<string, unknown> }[];
}
