// What people call a thing, as its owner wrote it.
import type { Called, HandStop, OwnText } from './plant.ts';

/** @param written null: nothing is written, and its id serves */
export const called = (written: OwnText | null, id: string): Called =>
  typeof written === 'object' && written !== null
    ? { name: written.en, names: written }
    : { name: written ?? id };

/** A text as its owner wrote it, in English. */
export const inEnglish = (text: OwnText): string => (typeof text === 'string' ? text : text.en);

type WrittenStop = Omit<HandStop, 'action'> & { readonly action: 'close' | 'switch off' | 'unplug' };
export const stopOf = (written: WrittenStop | null): HandStop | null =>
  written === null
    ? null
    : { ...written, action: written.action === 'switch off' ? 'switch-off' : written.action };
