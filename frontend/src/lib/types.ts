// What travels between phone and server, as docs/openapi.json has it (`npm run types`). The round's own nouns
// stand in round.ts.

import type { components } from './schema';

type Shapes = components['schemas'];

/** One fact, as a line of records.jsonl. */
export type Wire = Shapes['Wire'];

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

export type Person = Shapes['PersonShown'];
export type Role = Person['role'];
/** The server's answer to who this is. Its `now` is taken off at once: what is kept changes seldom. */
export type Greeting = Shapes['Me'];
export type Me = Omit<Greeting, 'now'>;
export type Pushed = Shapes['Pushed'];
export type Pulled = Shapes['Pulled'];
export type Fault = Shapes['FaultShown'];
