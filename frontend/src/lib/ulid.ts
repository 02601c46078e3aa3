// ULIDs (github.com/ulid/spec): 48 bits of time, 80 of chance, Crockford's base 32; rising within a
// millisecond and when the clock steps back. By getRandomValues, which works without a secure context.

const LETTERS = '0123456789ABCDEFGHJKMNPQRSTVWXYZ';
const CHANCE = 16;

let last = -1;
let digits: number[] = [];

function roll(): number[] {
  const bytes = crypto.getRandomValues(new Uint8Array(CHANCE));
  const made = Array.from(bytes, (byte) => byte & 31);
  // Half of the range is left free above, so that counting up never overflows.
  made[0] = (made[0] ?? 0) & 15;
  return made;
}

/** A new ULID, greater than every one made before on this page. `now_ms`: since 1970. */
export function ulid(now_ms: number = Date.now()): string {
  if (!Number.isFinite(now_ms) || now_ms < 0 || now_ms >= 2 ** 48) throw new RangeError('time out of range');
  if (now_ms > last) {
    last = Math.floor(now_ms);
    digits = roll();
  } else {
    let at = CHANCE - 1;
    while (digits[at] === 31) digits[at--] = 0;
    digits[at] = (digits[at] ?? 0) + 1;
  }
  let time = '';
  for (let rest = last, n = 0; n < 10; n++, rest = Math.floor(rest / 32)) time = LETTERS[rest % 32] + time;
  return time + digits.map((digit) => LETTERS[digit]).join('');
}
