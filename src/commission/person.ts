// The person who stands there, by one line at a time: what they are told, what they are asked, and what they may always say.
// `stop` ends whatever is energised at once, whether or not something was asked; `skip` with a reason leaves an item undone.
import { type Message, message } from '../language/message.ts';

export interface Lines {
  readonly tell: (words: Message) => void;
  /** @param key what the answer is about, so that a script can answer by it */
  readonly question: (key: string, words: Message) => void;
  /** The next line that was typed; null: there is nobody any more. */
  readonly next: () => Promise<string | null>;
}

/** The person leaves this item as it is, and says why. */
export class Skipped extends Error {
  override readonly name = 'Skipped';
  readonly note: string;

  constructor(note: string) {
    super(note);
    this.note = note;
  }
}

/** The person has stopped the session, or went away. */
export class Left extends Error {
  override readonly name = 'Left';
}

/** What an answer means, or why it can't be meant. */
type Read<T> = (text: string) => { readonly meant: T } | { readonly refused: Message };

export class Person {
  readonly #lines: Lines;
  /** What this person stated about the item, by question. */
  stated: Record<string, string> = {};
  #item = '';

  constructor(lines: Lines) {
    this.#lines = lines;
  }

  about(item: string): void {
    this.#item = item;
    this.stated = {};
  }

  tell(words: Message): void {
    this.#lines.tell(words);
  }

  /** Asks until the answer can be meant. @throws Skipped, Left */
  async ask<T>(key: string, words: Message, read: Read<T>): Promise<T> {
    for (;;) {
      this.#lines.question(`${this.#item} ${key}`.trim(), words);
      const line = await this.#lines.next();
      if (line === null || line.trim() === 'stop') throw new Left();
      const text = line.trim();
      const [, note] = /^skip\b\s*(.*)$/u.exec(text) ?? [];
      if (note !== undefined) {
        if (note === '') this.tell(message('commission-skip-why'));
        else throw new Skipped(note);
        continue;
      }
      const meant = read(text);
      if ('meant' in meant) {
        this.stated[key] = text;
        return meant.meant;
      }
      this.tell(meant.refused);
    }
  }

  /** Waits until something was done. */
  async done(key: string, words: Message): Promise<void> {
    await this.ask(key, words, () => ({ meant: true }));
  }

  /** A quantity, as a number in the unit that is asked for. */
  number(key: string, words: Message, least: number, most: number): Promise<number> {
    return this.ask(key, words, (text) => {
      const value = Number(text.replace(',', '.').replace(/\s*(?:L|degC|°C|PSU)$/u, ''));
      if (text !== '' && Number.isFinite(value) && value >= least && value <= most) return { meant: value };
      return { refused: message('commission-number-wanted', { leastCount: least, mostCount: most }) };
    });
  }

  /** One of some words. */
  oneOf(key: string, words: Message, choices: readonly string[]): Promise<string> {
    return this.ask(key, words, (text) =>
      choices.includes(text)
        ? { meant: text }
        : { refused: message('commission-one-of', { what: choices.join(', ') }) },
    );
  }
}
