// Talking to the service. Reading never changes anything; asking carries the token, and its answer is shown as it came.
import { signal } from '@preact/signals';
import { message } from '../../../language/message.ts';
import type { Answer, Me, PageRequest } from '../../contract.ts';
import { say } from '../texts.ts';

export const me = signal<Me | null>(null);

/** What went wrong, as the service said it. */
export class Refusal extends Error {
  override readonly name = 'Refusal';
  readonly status: number;
  readonly error: string;

  constructor(status: number, error: string, words: string) {
    super(words);
    this.status = status;
    this.error = error;
  }
}

async function answerOf(response: Response): Promise<unknown> {
  const body: unknown = await response.json().catch(() => null);
  if (response.ok) return body;
  const { error = 'inside', words = response.statusText } = (body ?? {}) as {
    error?: string;
    words?: string;
  };
  if (response.status === 401) await knowMe();
  throw new Refusal(response.status, error, say(`refusal.${error}`, words));
}

export async function read<T>(path: string): Promise<T> {
  return (await answerOf(await fetch(path, { headers: { accept: 'application/json' } }))) as T;
}

export async function post<T>(path: string, body?: unknown): Promise<T> {
  const token = me.value?.token ?? '';
  const response = await fetch(path, {
    method: 'POST',
    headers: {
      'x-panel-token': token,
      ...(body === undefined ? {} : { 'content-type': 'application/json' }),
    },
    ...(body === undefined ? {} : { body: JSON.stringify(body) }),
  });
  return (await answerOf(response)) as T;
}

/** Who this browser is to the service; begins a session where nobody has to sign in. */
export async function knowMe(): Promise<Me> {
  const response = await fetch('api/me');
  const found = (await response.json()) as Me;
  const before = me.peek();
  // Another release is served now: what this page still has to load would no longer be there.
  if (before !== null && before.page !== found.page) location.reload();
  me.value = found;
  return found;
}

export interface Said extends Answer {
  readonly asked: string;
  readonly n: number;
}

/** The last answer, for the one place that shows it. */
export const said = signal<Said | null>(null);
let count = 0;

/** Asks something of the station and shows what it answers. */
export async function ask(request: PageRequest): Promise<Answer> {
  return tell(request.ask, () => post<Answer>('api/request', request));
}

export async function tell(asked: string, send: () => Promise<Answer>): Promise<Answer> {
  const answer = await send().catch(
    (error: unknown): Answer => ({
      accepted: false,
      words: error instanceof Refusal ? error.message : message('service-out-of-reach'),
    }),
  );
  count += 1;
  said.value = { ...answer, asked, n: count };
  return answer;
}
