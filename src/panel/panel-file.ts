// The panel's own file, declared: where it is served, over which wire, to whom. `schemas/panel.schema.json` is printed from
// this.
import { derived, optional, otherwise } from '../station/file/absent.ts';
import {
  integer,
  list,
  object,
  oneWordOf,
  printed,
  type Read,
  readFile,
  text,
  truth,
  type Written,
} from '../station/file/declare.ts';
import { editorsSchema } from '../station/file/parts.ts';

export const LOOPBACK_HOST = '127.0.0.1';
export const LOOPBACK_ADDRESSES: readonly string[] = [LOOPBACK_HOST, '::1', '::ffff:127.0.0.1'];

const PANEL = object({
  $schema: editorsSchema,
  host: otherwise(
    text({
      minLength: 1,
      description:
        'The address to listen on. Any other than this computer needs tls or behindProxy, and people.',
    }),
    LOOPBACK_HOST,
  ),
  port: optional(integer({ minimum: 0, maximum: 65_535, description: '0: any free one.' })),
  tls: optional(
    object({
      key: text('A PEM file, from where this file lies.'),
      cert: text('A PEM file, with the chain.'),
    }),
  ),
  behindProxy: optional(
    object({
      origin: text('As people type it: https://vats.example.org'),
      addresses: derived(
        list(text(), {
          minItems: 1,
          description: 'Where the proxy connects from. Nobody else is let in.',
        }),
        'this computer',
        () => LOOPBACK_ADDRESSES,
      ),
    }),
  ),
  people: optional(
    list(
      object({
        name: text({ minLength: 1 }),
        may: oneWordOf(['look', 'act'], 'look: reads; act: may also ask things of the station.'),
        password: text('What `vatwarden password` printed, never the password itself.'),
      }),
      { minItems: 1 },
    ),
  ),
  mayWriteStation: otherwise(
    truth('Targets that a person changes on the page are written into the station file.'),
    false,
  ),
});

export type PanelText = Written<typeof PANEL>;
export type PanelValues = Read<typeof PANEL>;

export const panelSchema = () =>
  printed(PANEL, { $id: 'panel.schema.json', title: 'How the panel is served, and to whom' });

/** @param file one that the schema has accepted */
export const panelValues = (file: PanelText): PanelValues => readFile(PANEL, file).values;
