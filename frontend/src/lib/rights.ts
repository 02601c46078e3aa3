// Who may write what. The server holds everybody to it; here it only decides which buttons there are.

import type { Call, Round } from './round';
import type { Role } from './types';

/** What a child may write. */
const COUNTS = ['eggs', 'glance', 'counted'];
/** What a helper may not: it is no part of the round. */
const OFFICE = ['treated', 'killed', 'sold', 'sorted', 'weighed', 'candled', 'tray weighed', 'hatched'];

export function may(role: Role | undefined, kind: string): boolean {
  switch (role) {
    case 'farmer':
      return true;
    case 'helper':
      return !OFFICE.includes(kind);
    case 'child':
      return COUNTS.includes(kind);
    default:
      return false;
  }
}

/** There are no doors to eggs. */
function shutIn({ part }: Round, { kind }: Call): boolean {
  return part === 'evening' && kind !== 'incubator';
}

/** The rounds with `records` of each call filled in: the kinds for its kind of place that `role` may write. A
 * child goes round the places where something is to be counted. */
export function allowed(rounds: Round[], kinds: Record<string, string[]>, role: Role | undefined): Round[] {
  return rounds.map((round) => ({
    ...round,
    calls: round.calls
      .map((call) => ({
        ...call,
        records: [...(kinds[call.kind] ?? []), ...(shutIn(round, call) ? ['shut in'] : [])].filter((kind) =>
          may(role, kind),
        ),
      }))
      .filter(({ records }) => role !== 'child' || records.length > 0),
  }));
}
