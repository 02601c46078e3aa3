import { type Kept, STANDING, type Standing } from '../src/lib/types';
import { ulid } from '../src/lib/ulid';

/** A record as the phone keeps it. */
export function kept(
  kind: string,
  data: Record<string, unknown>,
  at = '2027-05-02T06:00:00Z',
  standing: Standing = STANDING.unsent,
): Kept {
  const held = Object.fromEntries(Object.entries(data).filter(([, value]) => value !== undefined));
  return {
    id: ulid(),
    device: 'd',
    who: 'runa',
    at,
    entered: at,
    kind,
    data: held,
    day: at.slice(0, 10),
    standing,
  };
}
