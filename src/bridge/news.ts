// What the link has to tell.
import type { Code } from '../errors/codes.ts';
import type { Message } from './message.ts';

export type News =
  /** The broker let us in and the subscriptions are on their way: now `off` to everything, before anything else (R5). */
  | { readonly news: 'connected' }
  | { readonly news: 'up' }
  | { readonly news: 'echo' }
  | { readonly news: 'message'; readonly message: Message }
  | { readonly news: 'denied'; readonly topic: string; readonly words: string }
  /** Somebody else's heartbeat on our topic. */
  | { readonly news: 'other-instance' }
  | { readonly news: 'duplicate-client'; readonly suspected: boolean }
  | { readonly news: 'down'; readonly words: string; readonly code: Code };
