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
  /** The colour of the ring that tells the batch, in words; `who` says it too. */
  ring?: string | null;
}

export interface Move {
  kind: string;
  said: string;
  times: number;
  stand: string | null;
  before: string | null;
  to: string | null;
  field: string | null;
  distance_m: number | null;
  paces: number | null;
  /** Gaps under the skirt where it is set down. */
  boards?: string[];
}

/** The net round the hens' house, to be put up anew; `paddock` goes into the record. */
export interface Fence {
  net: string;
  kind: 'place' | 'next' | 'apart' | 'by_eye' | 'none';
  said: string;
  due_on: string;
  paddock: string | null;
  /** Longitude and latitude of its corners, one after the other: for the record too. */
  corners_deg?: number[];
  size: string | null;
  walk: string | null;
  cautions: string[];
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
  /** Kinds that this person can write down here: put in by the phone, see `allowed`. */
  records: string[];
  /** The net round the house. */
  net?: string | null;
  /** Fields that cattle can be let into, as [name in the record, what it is called]. */
  grounds?: [string, string][];
  /** Its shift, on the days it is due. */
  fence?: Fence | null;
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
  /** Records that this round holds and those kept of other days do not yet: set by the phone. */
  holds?: string[];
}

export interface Rounds {
  made_at: string;
  /** First and last day that the plan says anything of; a server of an older version does not tell. */
  season?: { first: string; last: string };
  /** Kinds of record by kind of place. */
  records: Record<string, string[]>;
  rounds: Round[];
}

export interface Fact {
  id: string;
  ask: 'number' | 'place' | 'batch' | 'choice' | 'tick';
  said: string;
  /** Fields of records that the answer goes into: "found dead.heads". */
  into: string[];
  choices: [string, string][];
  most: number | null;
}

/** One "something happened". */
export interface Card {
  id: string;
  said: string;
  stop: string | null;
  now: string[];
  facts: Fact[];
  records: { kind: string; data: Record<string, string>; only_if: string | null }[];
  before_dark: string[];
  cautions: string[];
  telephone: string[];
}

export interface Cards {
  cards: Card[];
}

/** Something the book cannot settle by itself (src/leyfold/nouns/question.py). A choice's `data` is the answer. */
export interface Question {
  id: string;
  why: string;
  kind: string;
  about: string[];
  said: string;
  mend: string;
  choices: { said: string; data: Record<string, unknown> }[];
  place: string | null;
}

/** What becomes of the plan, as far as it is shown here. */
export interface Replanned {
  facts: string[];
  stop: string | null;
  first: { said: string; first: string } | null;
  broken: { said: string; before: boolean }[];
  mends: { said: string; cost: number | null; verified: boolean; before_dark: string[] }[];
  before_dark: string[];
  cautions: string[];
  unsure: string[];
}
