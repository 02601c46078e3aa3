// What travels between phone and server. The round's own nouns stand in round.ts.

/** One fact, as a line of records.jsonl. */
export interface Wire {
  id: string;
  device: string;
  who: string;
  at: string;
  entered: string;
  kind: string;
  data: Record<string, unknown>;
}

/** Where a record on the phone stands: to be sent; sent, but not yet in the rounds kept here; in them; or
 * not taken by the server, and then put aside by somebody who has read why. */
export const STANDING = { unsent: 0, sent: 1, counted: 2, refused: 3, aside: 4 } as const;
export type Standing = (typeof STANDING)[keyof typeof STANDING];

/** A record on the phone. `day`: the farm's civil day of `at`. */
export interface Kept extends Wire {
  day: string;
  standing: Standing;
  why?: string;
  mend?: string;
}

export type Role = 'farmer' | 'helper' | 'child' | 'looker-on';

export interface Person {
  id: string;
  name: string;
  role: Role;
}

export interface Me {
  person: Person;
  rights: string[];
  csrf: string;
  farm: {
    name: string;
    zone: string;
    language: string;
    people?: Person[];
  };
  now: string;
  practice: boolean;
  version: string;
}

export interface Pushed {
  accepted: string[];
  duplicates: string[];
  refused: { id: string; why: string; mend: string }[];
  cursor: number;
}

export interface Pulled {
  records: Wire[];
  cursor: number;
  more: boolean;
  /** Which book it is: one restored from a copy has another name. */
  book: string;
}

export interface Fault {
  where?: string;
  field?: string;
  wrong?: string;
  mend?: string;
}
