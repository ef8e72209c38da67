// Every bound of the bridge in one place, with its reason. What a station may choose (provenWithin, tickWithin) is in
// its file; these it may not.

export const LIMITS = {
  /** A device that says more than this about one float is not to be parsed on the way to a trip. */
  payloadBytes: 65_536,
  /** MQTT 5 tells the broker not to send more in one packet: protects memory, not judgement. */
  packetBytes: 1_048_576,
  /** Changes of one contact between two steps. 64 in some milliseconds is chatter, and chatter is not evidence. */
  queuedPerContact: 64,
  queuedRequests: 32,
  /** Answers kept, so that a request repeated with the same id is answered and not carried out twice. */
  rememberedRequests: 64,

  tickMs: 250,
  /** How often to look, between ticks, whether the computer was asleep. */
  sleepLookMs: 100,
  /** Own echo, R15: at most 2 s, so that a silent link shows well within a lease. */
  heartbeatMs: 1000,
  statusMs: 1000,
  clockMs: 60_000,
  /** Where only readings moved. Anything with a command or a record is saved at once. */
  saveEveryMs: 5000,
  /** An `on` that waited longer than this for the disk is not sent: the step that allowed it is history. */
  onMayWaitMs: 1000,
  /** A command is missing when so many later heartbeats came back and it did not. Counted in echoes, not in time. */
  echoesUntilMissing: 5,

  keepaliveS: 5,
  connectMs: 10_000,
  backoffFirstMs: 500,
  backoffMostMs: 30_000,
  /** After so long in one piece a connection is trusted again, R16. */
  stableMs: 60_000,
  shortSessionMs: 10_000,
  /** So many short sessions in the window smell of a second instance with the same client id. */
  shortSessions: 3,
  shortSessionWindowMs: 60_000,
  duplicateBackoffMs: [120_000, 300_000],

  /** How long a stop waits for feedback, and how often it says `off` again meanwhile. */
  stopMs: 5000,
  stopRepeatMs: 1000,
  goodbyeMs: 1000,

  /** A wall clock before this year was never set: a small computer wakes up in 1970 or at its image's date. */
  earliestYear: 2025,
  wallJumpMs: 120_000,
  /** After a jump the time of day is not believed for so long; a time server corrects itself within minutes. */
  untrustedMs: 600_000,

  /** A lock that nobody touched for so long, written by another computer, belongs to a dead instance. */
  lockStaleMs: 15_000,
} as const;
