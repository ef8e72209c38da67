// A change of one member, written into the text of a file where it belongs: the owner's order, spacing and everything else stay
// as they were.
import { type AnyNode, type MemberNode, type ObjectNode, parse } from '@humanwhocodes/momoa';

type Complete = (key: string, made: unknown) => unknown;

/**
 * @param path keys from the top of the file
 * @param value undefined: taken out
 * @param complete what is put where the file had nothing at a key of the path
 */
export function withMember(
  text: string,
  path: readonly string[],
  value: unknown,
  complete: Complete = (_, made) => made,
): string {
  const { body } = parse(text, { mode: 'json' });
  let here: AnyNode = body;
  for (const [depth, key] of path.entries()) {
    if (here.type !== 'Object') return text;
    const found: MemberNode | undefined = here.members.find((one) => keyOf(one) === key);
    if (found === undefined)
      return value === undefined ? text : inserted(text, here, path.slice(depth), value, complete);
    if (depth === path.length - 1 && value === undefined) return removed(text, here, found);
    here = found.value;
  }
  return text.slice(0, here.loc.start.offset) + JSON.stringify(value) + text.slice(here.loc.end.offset);
}

const keyOf = ({ name }: MemberNode): string => (name.type === 'String' ? name.value : name.name);

function inserted(
  text: string,
  into: ObjectNode,
  path: readonly string[],
  value: unknown,
  complete: Complete,
): string {
  const [key = '', ...rest] = path;
  const made = rest.reduceRight<unknown>((inner, name) => ({ [name]: inner }), value);
  const whole = complete(key, made);
  const at = into.loc.start.offset + 1;
  const first = into.members[0];
  const gap = first === undefined ? ' ' : text.slice(at, first.loc.start.offset);
  const end = first === undefined ? ' ' : ',';
  return `${text.slice(0, at)}${gap}${JSON.stringify(key)}: ${JSON.stringify(whole)}${end}${text.slice(at)}`;
}

/** With the comma that belongs to it: the one after it, or before it where it is the last. */
function removed(text: string, from: ObjectNode, member: MemberNode): string {
  const at = from.members.indexOf(member);
  const next = from.members[at + 1];
  const before = from.members[at - 1];
  if (next) return text.slice(0, member.loc.start.offset) + text.slice(next.loc.start.offset);
  if (before) return text.slice(0, before.loc.end.offset) + text.slice(member.loc.end.offset);
  return text.slice(0, member.loc.start.offset) + text.slice(member.loc.end.offset);
}
