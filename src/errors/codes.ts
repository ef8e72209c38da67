// Every error that a person can meet, by its code. The code stands in brackets behind the message and stays the same from
// release to release; the words may get better. `ERRORS.md` is printed from this table.

export interface CodeRow {
  /** When it is said. */
  readonly when: string;
  /** What to do next, where the message itself can't know better. */
  readonly next: string;
}

/** The bands, and with what the program ends. */
export const BANDS = {
  1: { about: 'the call', exit: 2 },
  2: { about: 'files', exit: 2 },
  3: { about: 'the broker', exit: 3 },
  4: { about: "the station's memory: state directory and journal", exit: 4 },
  5: { about: 'ports of this computer', exit: 2 },
  9: { about: 'the program itself', exit: 70 },
} as const;

export const CODES = {
  'E-101': {
    when: 'there is no such command',
    next: '`vatwarden --help` lists them in the order of the job',
  },
  'E-102': {
    when: 'the command has no such option',
    next: 'see the --help of the command; it ends with examples',
  },
  'E-103': {
    when: 'an argument is missing, or there is one too many',
    next: 'compare with the examples in --help',
  },
  'E-104': {
    when: 'the value of an option or argument is none that it takes',
    next: 'the message says which would do',
  },
  'E-105': {
    when: 'two options exclude or need each other',
    next: 'the message says which one to leave out or to add',
  },
  'E-106': {
    when: "the broker's address can not be used",
    next: 'write mqtt://HOST:PORT or mqtts://HOST:PORT, and the password into a file',
  },
  'E-107': {
    when: 'the environment switches the check of certificates off',
    next: 'unset NODE_TLS_REJECT_UNAUTHORIZED and give --ca',
  },
  'E-111': { when: '`calc`: there is no such quantity', next: '`vatwarden calc --list` names them all' },
  'E-112': {
    when: '`calc`: an input is missing, unknown, given twice or not written as name=value',
    next: '`vatwarden calc --list NAME` shows its inputs',
  },
  'E-113': {
    when: '`calc`: a number, a unit or a table can not be read, or lies outside its range',
    next: 'write a number, a space and one of the units named',
  },
  'E-114': {
    when: '`calc --json`: standard input is no question',
    next: 'send {"quantity": ..., "inputs": {...}} or a list of them',
  },
  'E-121': {
    when: '`replay`: the question names a time or a row that the journal does not have',
    next: 'the message says what it has',
  },
  'E-122': {
    when: 'a fault can not be read, or does not fit the station',
    next: '`vatwarden simulate --help` lists the kinds of fault',
  },
  'E-123': {
    when: '`password`: nothing was typed, or too little',
    next: 'take a sentence of at least ten characters',
  },
  'E-201': {
    when: 'a file is not there',
    next: 'check the name; a relative one begins at the folder of the call',
  },
  'E-202': {
    when: 'a file may not be read or written by this user',
    next: 'run as the user who owns it, or give the file to this one',
  },
  'E-203': {
    when: 'a folder stands where a file was expected, or a file in place of a folder',
    next: 'name the file in it',
  },
  'E-204': {
    when: 'the disk is full or read-only',
    next: 'make room, or name another place; a memory card that has become read-only is worn out: replace it',
  },
  'E-205': {
    when: 'a file or folder can not be read or written for another reason',
    next: 'look at the disk and at the messages of the system',
  },
  'E-206': {
    when: 'something is already there and is not overwritten',
    next: 'give a name of its own, for example with the date',
  },
  'E-211': {
    when: 'a station file can not be used',
    next: 'each line names the place, what was found and what would do; `vatwarden check FILE` lists them all',
  },
  'E-212': {
    when: 'a site file can not be used',
    next: 'each line names the place, what was found and what would do',
  },
  'E-213': {
    when: 'a site file was given where a station file belongs, or the other way round',
    next: '`plan` reads site files, all else reads station files; `plan SITE --station FILE` makes one of the other',
  },
  'E-214': {
    when: '`plan`: these parts make no station, so there is nothing to simulate or to draft',
    next: 'the lines below say what stands in the way',
  },
  'E-215': {
    when: '`wire`: what the file announces can not be said to a hub',
    next: 'change the placeholders of `announce` as the message says',
  },
  'E-216': {
    when: '`plan --pack`: the folder is not empty, or no folder',
    next: 'name a folder that does not exist yet, or an empty one; nothing was overwritten',
  },
  'E-217': {
    when: "`plan --catalogue`: the installer's catalogue can not be used",
    next: 'a CSV with the heading kind,item,price,currency,watts, one line for each kind of part, all in one currency',
  },
  'E-221': {
    when: "the panel's file can not be used",
    next: '`schemas/panel.schema.json` explains each key',
  },
  'E-222': {
    when: 'the panel would be served to a network without a door',
    next: 'give tls or behindProxy, and people who sign in',
  },
  'E-223': { when: 'a key or certificate can not be used', next: 'both are PEM and belong together' },
  'E-224': {
    when: 'the file that says who is told can not be used',
    next: '`schemas/notify.schema.json` explains each key',
  },
  'E-311': {
    when: 'no broker answers',
    next: 'look whether it runs, and at host and port; `run` goes on trying, the other commands end',
  },
  'E-312': {
    when: 'the network does not lead to the host',
    next: 'look at the name, the cable and the name server',
  },
  'E-313': {
    when: 'the broker refuses user name, password or access',
    next: 'give --username and --password-file; `wire --accounts` writes accounts for mosquitto',
  },
  'E-314': {
    when: 'the broker refuses the client id or has banned it',
    next: "let it accept 'vatwarden-' followed by the station's id",
  },
  'E-315': {
    when: 'the broker speaks another version of MQTT or lacks a part that is needed',
    next: 'use a broker with MQTT 5, or say --mqtt 3.1.1',
  },
  'E-316': {
    when: 'the broker does not let this user read or write a topic',
    next: '`vatwarden wire FILE --acl` prints the access list it needs',
  },
  'E-321': {
    when: "the broker's certificate is signed by nobody known here",
    next: "give the authority's certificate with --ca",
  },
  'E-322': {
    when: "the broker's certificate is for another name",
    next: 'use the name that stands in the certificate',
  },
  'E-323': {
    when: "the broker's certificate has expired or is not valid yet",
    next: "renew it, and look at this computer's date",
  },
  'E-324': {
    when: 'one side speaks TLS on this port and the other does not',
    next: "mqtts:// with the broker's TLS port, mqtt:// with the other one",
  },
  'E-325': { when: "the broker wants or refuses this client's certificate", next: 'check --cert and --key' },
  'E-399': {
    when: 'the connection to the broker failed otherwise',
    next: "look at the broker's log for the same moment",
  },
  'E-401': {
    when: 'the state directory can not be used',
    next: 'it must be there or be makeable, and belong to the user who runs the service',
  },
  'E-402': {
    when: 'another instance runs with this state directory',
    next: 'stop it, or give another directory with --state',
  },
  'E-403': {
    when: 'the state can not be written, or the state file not be read',
    next: 'make room on the disk, look at its permissions',
  },
  'E-404': { when: 'this is no state directory', next: 'name the directory that `run --state` has' },
  'E-405': {
    when: 'the record of commissioning can not be used',
    next: 'put it back from a backup, or move it away and commission again',
  },
  'E-411': { when: 'the disk with the journal is full', next: 'make room; the journal goes on by itself' },
  'E-412': {
    when: 'the journal can not be written',
    next: 'look at the permissions of its folder, and whether the disk was mounted read-only',
  },
  'E-413': {
    when: 'the journal is damaged',
    next: 'a running service keeps it aside and begins a new one; check the disk',
  },
  'E-414': { when: 'another program or service holds the journal', next: 'end it, or let it read a copy' },
  'E-415': {
    when: 'the journal can not be read',
    next: 'look at the disk: its cable, its card, the messages of the system',
  },
  'E-416': {
    when: "the journal is another station's, a newer release's, or no journal",
    next: 'give each station a folder of its own; name the file journal.db',
  },
  'E-417': { when: 'there is no such journal', next: 'name the journal.db below the state directory' },
  'E-418': {
    when: 'there is no database driver for this Node on this computer',
    next: 'run it with Node 24 or newer, which brings a driver along; or, on x64 and arm64, install it again with its optional packages',
  },
  'E-501': {
    when: 'a port is taken',
    next: 'end the other program, or give another port; 0 takes any free one',
  },
  'E-502': { when: 'this user may not open the port', next: 'give one above 1023' },
  'E-503': { when: 'the address does not belong to this computer', next: 'give 127.0.0.1 or one of its own' },
  'E-901': {
    when: 'the program contradicts itself: a fault of its own',
    next: 'call again with --verbose and report what it prints',
  },
  'E-902': {
    when: "a part of the program's files is missing",
    next: 'install it again; from a clone, `npm run build`',
  },
  'E-903': { when: 'this Node is too old', next: 'install Node 20.19 or newer' },
} as const satisfies Readonly<Record<string, CodeRow>>;

export type Code = keyof typeof CODES;

/** With what the program ends after this error. */
export function exitOf(code: Code): number {
  return BANDS[code[2] as unknown as keyof typeof BANDS].exit;
}
