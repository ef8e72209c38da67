// What may be left out of a file, and what counts then: nothing, a value, or what follows from the rest of the file. Each is
// told where it is taken.
import type {
  JsonSchema,
  Lacking,
  Members,
  ObjectPart,
  Part,
  Place,
  ReadMembers,
  WrittenMembers,
} from './declare.ts';

/** What may be left out; null is read then. */
export function optional<W, R>(part: Part<W, R>): Lacking<W, R | null> {
  return {
    ...part,
    say: (value) => (value === null ? '' : part.say(value)),
    absent: (_place, _here, put) => put(null),
  };
}

/** An object of members that may all be left out: without it, what is assumed for each of them counts. */
export function group<M extends Members>(
  part: ObjectPart<M>,
): Lacking<WrittenMembers<M>, ReadMembers<M>> & ObjectPart<M> {
  return { ...part, absent: (place, _here, put) => put(part.read({} as WrittenMembers<M>, place)) };
}

/** What an entry says itself, unless its device gives it (`expand.ts`): that has been done when the file is read. */
export function fromDevice<W, R>(part: Part<W, R>): Lacking<W, R> & { readonly isGranted: true } {
  return {
    ...part,
    isGranted: true,
    absent: ({ at }) => {
      throw new Error(
        `${at} was given neither by the entry nor by its device: the loader should have said so`,
      );
    },
  };
}

interface Default {
  /** Goes on after the value in the hint: a source, a reason. */
  readonly remark?: string;
  /** It decides nothing at the station: `check` does not tell it. */
  readonly untold?: true;
}

/** What may be left out, and what is taken then. */
export function otherwise<W extends string | number | boolean, R>(
  part: Part<W, R>,
  value: NoInfer<W>,
  { remark = '', untold }: Default = {},
): Lacking<W, R> {
  const assumed = part.read(value, NOWHERE);
  const said = part.say(assumed);
  return {
    ...part,
    schema: withDefault({ ...part.schema, default: value }, `${said}${remark}`),
    absent: (place, _here, put) => {
      put(assumed);
      if (!untold) place.assumed.push({ ...placeOf(place), value: said });
    },
  };
}

const NOWHERE: Place = { at: '', key: '', of: '', assumed: [], later: [] };
const withDefault = (schema: JsonSchema, words: string): JsonSchema => ({
  ...schema,
  description: [schema.description, `Default ${words}.`].filter((one) => one !== undefined).join(' '),
});
const placeOf = ({ at, key, of }: Place) => ({ at, key, of });

/** What a default looks at: the object that it stands in, the whole file, and the nearest id above. */
type Derivation<R, H, A> = (here: H, whole: A, id: string) => R;
interface Derived<H, A> extends Pick<Default, 'untold'> {
  /** Whether it decides anything here; otherwise it is not told. */
  readonly counts?: Derivation<boolean, H, A>;
}

/**
 * What may be left out, and what follows then from the rest of the file.
 * @param words how, for the hint
 */
export function derived<W, R, H, A>(
  part: Part<W, R>,
  words: string,
  of: Derivation<R, H, A>,
  { counts = () => true, untold }: Derived<H, A> = {},
): Lacking<W, R> {
  return {
    ...part,
    schema: withDefault(part.schema, words),
    absent: (place, here, put) => {
      const slot = place.assumed.push(null) - 1;
      place.later.push((whole) => {
        const value = of(here as H, whole as A, place.of);
        put(value);
        if (!untold && counts(here as H, whole as A, place.of))
          place.assumed[slot] = { ...placeOf(place), value: part.say(value) };
      });
    },
  };
}
