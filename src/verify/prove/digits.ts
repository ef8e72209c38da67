// Whole numbers in a row, and the 64 bits that they are folded into.

export interface Fingerprint {
  high: number;
  low: number;
}

/** Marks the end of a list whose length is not fixed. */
export const END = -1;
const NOTHING = -77_777_777;

/** What is folded, as whole numbers in a row; words by the order in which they were first met. */
export class Digits {
  private readonly words = new Map<string, number>();
  private numbers = new Int32Array(2048);
  private length = 0;

  begin(): void {
    this.length = 0;
  }

  put(value: number): void {
    if (this.length === this.numbers.length) this.grow();
    this.numbers[this.length++] = value;
  }

  /** Ages in whole milliseconds, amounts and salinities in thousandths. */
  num(value: number | null): void {
    this.put(value === null ? NOTHING : (Math.round(value * 1000) % 2_147_483_647) | 0);
  }

  bit(value: boolean | null): void {
    this.put(value === null ? NOTHING : value ? 1 : 2);
  }

  word(text: string | null): void {
    if (text === null) return this.put(NOTHING);
    let index = this.words.get(text);
    if (index === undefined) {
      index = this.words.size + 1;
      this.words.set(text, index);
    }
    this.put(index);
  }

  fingerprint(into: Fingerprint): void {
    mix(this.numbers, this.length, into);
  }

  private grow(): void {
    const larger = new Int32Array(2 * this.numbers.length);
    larger.set(this.numbers);
    this.numbers = larger;
  }
}

function mix(numbers: Int32Array, length: number, into: Fingerprint): void {
  let high = 0x9747b28c;
  let low = 0x3c6ef372;
  for (let at = 0; at < length; at++) {
    const value = numbers[at] ?? 0;
    let a = Math.imul(value, 0xcc9e2d51);
    a = (a << 15) | (a >>> 17);
    high ^= Math.imul(a, 0x1b873593);
    high = (high << 13) | (high >>> 19);
    high = (Math.imul(high, 5) + 0xe6546b64) | 0;
    let b = Math.imul(value ^ 0x5bd1e995, 0x239b961b);
    b = (b << 17) | (b >>> 15);
    low ^= Math.imul(b, 0xab0e9789);
    low = (low << 16) | (low >>> 16);
    low = (Math.imul(low, 5) + 0x561ccd1b + high) | 0;
  }
  into.high = finish(high ^ length) >>> 0;
  into.low = finish(low ^ length) >>> 0;
}

function finish(value: number): number {
  let bits = value;
  bits = Math.imul(bits ^ (bits >>> 16), 0x85ebca6b);
  bits = Math.imul(bits ^ (bits >>> 13), 0xc2b2ae35);
  return bits ^ (bits >>> 16);
}
