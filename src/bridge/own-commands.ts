// Which of the commands on the wire are our own.
//
// We listen to every command topic, because a second hand at a switch must be known (F34), and so our own commands come
// back to us. MQTT 5 lets a message carry its sender; 3.1.1 has nothing, so there a message is ours when its text was sent
// on its topic and has not come back yet. What was sent is forgotten when it has come back, when the connection
// ends, and when several later heartbeats came back without it: then somebody (usually the broker's access list) swallowed
// it, and a stranger's equal text minutes later must not pass for ours.
import { LIMITS } from './limits.ts';
import type { Message } from './message.ts';

export interface SentCommand {
  readonly actuator: string;
  readonly topic: string;
  readonly payload: string;
  readonly sequence: number;
  /** Its text never repeats: an equal text is a copy of it. */
  readonly unique: boolean;
}

export interface OwnCommands {
  /** What the message carries so that we know it again, MQTT 5 only. */
  readonly signature: (sequence: number) => string;
  readonly sent: (command: SentCommand) => void;
  /** True for our own coming back, and for a second copy of it. Retained ones are never ours: we never retain (R1). */
  readonly isOwn: (message: Message) => boolean;
  /** A later heartbeat came back. Returns the commands that now count as swallowed (R6). */
  readonly heartbeatCameBack: () => readonly SentCommand[];
  readonly forget: () => void;
}

interface Outstanding {
  readonly command: SentCommand;
  heartbeats: number;
}

const COPIES_REMEMBERED = 16;

export function ownCommands(boot: string): OwnCommands {
  let outstanding: Outstanding[] = [];
  /** What came back last, newest first: a broker that repeats itself is no stranger. */
  let returned: SentCommand[] = [];

  const comeBack = (fits: (command: SentCommand) => boolean): boolean => {
    const place = outstanding.findIndex(({ command }) => fits(command));
    const found = outstanding[place];
    if (found === undefined) return false;
    outstanding.splice(place, 1);
    returned = [found.command, ...returned].slice(0, COPIES_REMEMBERED);
    return true;
  };

  return {
    signature: (sequence) => `${boot}/${sequence}`,
    sent: (command) => {
      outstanding.push({ command, heartbeats: 0 });
    },
    isOwn: ({ topic, payload, retain, dup, sender }) => {
      if (retain) return false;
      if (sender !== null) {
        const [whose, sequence] = sender.split('/');
        if (whose !== boot) return false;
        comeBack((command) => String(command.sequence) === sequence);
        return true;
      }
      const text = Buffer.from(payload).toString();
      const fits = (command: SentCommand) => command.topic === topic && command.payload === text;
      // The dup flag alone proves nothing (measured: a broker may leave it out), but with a text that can't repeat, or
      // with the flag set, it is our own coming a second time.
      return comeBack(fits) || returned.some((command) => fits(command) && (dup || command.unique));
    },
    heartbeatCameBack: () => {
      for (const one of outstanding) one.heartbeats++;
      const missing = outstanding.filter(({ heartbeats }) => heartbeats >= LIMITS.echoesUntilMissing);
      outstanding = outstanding.filter(({ heartbeats }) => heartbeats < LIMITS.echoesUntilMissing);
      return missing.map(({ command }) => command);
    },
    forget: () => {
      outstanding = [];
      returned = [];
    },
  };
}
