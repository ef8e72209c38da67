// Our own heartbeat, sent round through the broker: the only proof that the link carries anything (R2, R15, R18).
//
// A half-open connection looks alive for as long as TCP has patience: `connected` stays true and publishing succeeds.
// Only what comes back counts, and it proves the link for the moment at which it was SENT: an echo that took twenty
// seconds shows a link that was twenty seconds slow.

export interface Heartbeat {
  /** The next payload, noted as sent now. */
  readonly beat: (nowMs: number) => string;
  /** 'own' where it proves something new, 'old' where a newer one came back before, 'other' for another instance. */
  readonly heard: (payload: Uint8Array) => 'own' | 'old' | 'other' | 'unreadable';
  /** Age of the youngest proof, ms; Infinity before the first. */
  readonly ageMs: (nowMs: number) => number;
  readonly lastSentMs: () => number;
  /** Nothing is on its way any more. */
  readonly isQuiet: () => boolean;
  readonly forget: () => void;
}

const KEPT = 256;

export function heartbeatOf(boot: string): Heartbeat {
  let n = 0;
  let sent = new Map<number, number>();
  let lastSentMs = Number.NEGATIVE_INFINITY;
  let provenMs = Number.NEGATIVE_INFINITY;
  return {
    beat: (nowMs) => {
      n++;
      sent.set(n, nowMs);
      lastSentMs = nowMs;
      if (sent.size > KEPT) sent.delete(n - KEPT);
      return JSON.stringify({ boot, n });
    },
    heard: (payload) => {
      const echo = read(payload);
      if (echo === null) return 'unreadable';
      if (echo.boot !== boot) return 'other';
      const sentMs = sent.get(echo.n);
      if (sentMs === undefined) return 'old';
      for (const older of sent.keys()) if (older <= echo.n) sent.delete(older);
      provenMs = sentMs;
      return 'own';
    },
    ageMs: (nowMs) => nowMs - provenMs,
    lastSentMs: () => lastSentMs,
    isQuiet: () => sent.size === 0,
    forget: () => {
      sent = new Map();
      provenMs = Number.NEGATIVE_INFINITY;
      lastSentMs = Number.NEGATIVE_INFINITY;
    },
  };
}

function read(payload: Uint8Array): { readonly boot: string; readonly n: number } | null {
  if (payload.byteLength > 200) return null;
  try {
    const { boot, n } = JSON.parse(Buffer.from(payload).toString());
    return typeof boot === 'string' && Number.isInteger(n) ? { boot, n } : null;
  } catch {
    return null;
  }
}
