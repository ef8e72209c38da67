// The service, put together: everything that touches the world round one pure core. How data flows is in pipeline.ts.
import { type Observable, Subject, type Subscription } from 'rxjs';
import type { Input, Request } from '../control/guard/types.ts';
import { Coded } from '../errors/coded.ts';
import { LinkRefused } from '../errors/refusals.ts';
import { englishOf, type Say } from '../language/english.ts';
import { told } from '../language/told.ts';
import type { Plant } from '../station/plant.ts';
import { Arrivals } from './arrivals.ts';
import { type Asking, askingOf } from './asking.ts';
import { type Clockwork, type Machine, stepClockwork, wallClockwork } from './clockwork.ts';
import { type Codec, codecOf } from './codec.ts';
import type { Core } from './core.ts';
import { type Farewell, switchOff } from './farewell.ts';
import { handsOf } from './hands.ts';
import { heartbeatOf } from './heartbeat.ts';
import { type Inbox, inboxOf } from './inbox.ts';
import { LIMITS } from './limits.ts';
import { Link } from './link.ts';
import { LinkAlarms } from './link-alarms.ts';
import { LockStep } from './lock-step.ts';
import type { Log, Outgoing } from './message.ts';
import type { News } from './news.ts';
import { Outbox } from './outbox.ts';
import { type OwnCommands, ownCommands } from './own-commands.ts';
import type { Settings } from './packets.ts';
import { type Turn, turnsOf } from './pipeline.ts';
import { type Requests, requestsOf } from './requests.ts';
import { type StatusBoard, statusBoard } from './status-board.ts';
import { type Topics, topicsOf } from './wire-out.ts';

export interface BridgeOptions<State> {
  readonly plant: Plant;
  readonly core: Core<State>;
  readonly state: State;
  readonly settings: Settings;
  /** `topic`: lock step with a simulated water. */
  readonly time: 'wall' | 'topic';
  /** Tells this start of the service from every other. */
  readonly boot: string;
  readonly machine: Machine;
  /** 0 <= chance < 1; decides when to connect again and nothing else. */
  readonly chance: () => number;
  /** True once durable, never rejects; null where no state is kept. */
  readonly save: ((state: unknown) => Promise<boolean>) | null;
  readonly clearRetained: boolean;
  readonly log: Log;
}

/** The core contradicted itself, or the bridge has a fault: everything was switched off. */
export class ServiceFailed extends Coded {
  override readonly name = 'ServiceFailed';
}

export class Bridge<State> {
  readonly #options: BridgeOptions<State>;
  readonly #topics: Topics;
  readonly #codec: Codec;
  readonly #inEnglish: Say;
  readonly #own: OwnCommands;
  readonly #requests: Requests;
  readonly #inbox: Inbox = inboxOf();
  readonly #link: Link;
  readonly #outbox: Outbox;
  readonly #arrivals: Arrivals;
  readonly #asking: Asking;
  readonly #board: StatusBoard;
  readonly #lockStep: LockStep | null;
  readonly #clockwork: Clockwork;
  readonly #turns = new Subject<Turn<State>>();
  #state: State;
  #isWritable = true;
  #isTimeTrusted = false;
  #running: Subscription | null = null;
  #end: { readonly resolve: () => void; readonly reject: (error: Error) => void } | null = null;

  constructor(options: BridgeOptions<State>) {
    const { plant, settings, boot, machine, chance, clearRetained, log, time } = options;
    this.#options = options;
    this.#state = options.state;
    this.#topics = topicsOf(plant.id);
    this.#codec = codecOf(plant, () => (this.#isTimeTrusted ? machine.date().getTime() : null));
    this.#inEnglish = englishOf(plant);
    this.#own = ownCommands(boot);
    const topics = this.#topics;
    const say = (message: Outgoing) => this.#outbox.say(message);
    this.#link = new Link({
      settings,
      topics,
      subscriptions: [
        ...this.#codec.topics,
        topics.request,
        ...topics.leftBehind,
        ...(time === 'topic' ? [topics.time] : []),
      ],
      provenWithinMs: plant.link.provenWithinMs,
      inLockStep: time === 'topic',
      heartbeat: heartbeatOf(boot),
      stationMs: () => this.#clockwork.nowMs(),
      monotonicMs: machine.monotonicMs,
      chance,
      log,
    });
    this.#lockStep = time === 'topic' ? new LockStep(this.#link, topics, say) : null;
    this.#clockwork = this.#lockStep === null ? wallClockwork(machine) : stepClockwork(this.#lockStep.times);
    const nowMs = () => this.#clockwork.nowMs();
    const { save: keep } = options;
    const save = keep === null ? null : (state: unknown) => this.#save(keep, state);
    const hands = handsOf(plant, nowMs, (actuator) => log.warn({ actuator }, 'switched-by-hand'));
    const { commanded } = hands;
    this.#outbox = new Outbox({
      plant,
      topics,
      boot,
      own: this.#own,
      link: this.#link,
      nowMs,
      save,
      log,
      commanded,
    });
    this.#board = statusBoard(topics.status, say, time === 'topic' ? 0 : LIMITS.statusMs);
    const rooms = { topics, codec: this.#codec, own: this.#own, outbox: this.#outbox };
    const alarms = new LinkAlarms(plant, this.#outbox, log);
    this.#requests = requestsOf(plant);
    this.#asking = askingOf(plant);
    this.#arrivals = new Arrivals({ ...rooms, alarms, hands, requests: this.#requests, clearRetained, log });
    const standing = options.core.describe(plant, options.state);
    this.#outbox.stand(standing.alarms, standing.task);
  }

  /** Every step with its effects, for whoever wants to look on. */
  get turns(): Observable<Turn<State>> {
    return this.#turns;
  }

  get news(): Observable<News> {
    return this.#link.news;
  }

  /** Runs until `stop`. Rejects with LinkRefused or ServiceFailed; then everything is off as far as that can be done. */
  run(): Promise<void> {
    const { plant, core, state } = this.#options;
    const turns = turnsOf({
      news: this.#link.news,
      read: (news) => this.#read(news),
      refuse: (input) => this.#arrivals.refuse(input),
      inbox: this.#inbox,
      clockwork: this.#clockwork,
      plant,
      core,
      state,
      send: (turn) => this.#send(turn),
    });
    return new Promise((resolve, reject) => {
      this.#end = { resolve, reject };
      this.#running = turns.subscribe({ error: (error) => void this.fail(error) });
      this.#link.open();
    });
  }

  /** No step is made any more; everything off, confirmed as far as it can be; offline; goodbye. */
  async stop(confirmWithinMs: number = LIMITS.stopMs): Promise<Farewell> {
    const { plant, core, save } = this.#options;
    this.#running?.unsubscribe();
    const rooms = { link: this.#link, codec: this.#codec, outbox: this.#outbox };
    const { actuators } = core.describe(plant, this.#state);
    const provenOff = Object.keys(actuators).filter((id) => actuators[id]?.provenOff);
    const farewell = await switchOff(plant, provenOff, rooms, confirmWithinMs);
    await save?.(this.#state);
    await this.#link.close();
    this.#end?.resolve();
    return farewell;
  }

  /** Something that must not happen did: off on the wire first, questions later. */
  async fail(error: unknown): Promise<void> {
    const { log } = this.#options;
    this.#running?.unsubscribe();
    this.#outbox.offToEverything();
    if (error instanceof LinkRefused) {
      this.#end?.reject(error);
      return;
    }
    log.error({ error: error instanceof Error ? error.stack : String(error) }, 'service-failed');
    await this.#link.close();
    const words = error instanceof Error ? error.message : String(error);
    this.#end?.reject(new ServiceFailed('E-901', words, error));
  }

  /** Cuts the link and stays away for a while: whether devices end by themselves is to be seen before it matters. */
  stayAway(forMs: number): void {
    this.#link.stayAway(forMs);
  }

  /** A request that did not come by the wire; its answer is among the effects, under the same id. Taken with the next step. */
  ask(id: string, request: Request): void {
    this.#inbox.put({ type: 'request', id, request });
  }

  /** Where messages to people do not arrive now. */
  toldNobody(failing: readonly string[]): void {
    this.#inbox.put({ type: 'sinks', failing });
  }

  #read(news: News): readonly Input[] {
    const inputs = this.#arrivals.inputsOf(news);
    if (news.news === 'connected') this.#asking.anew();
    if (news.news === 'up') {
      this.#ask();
      this.#offerStatus(true);
    }
    return inputs;
  }

  #send(turn: Turn<State>): void {
    const { effects, beat } = turn;
    this.#state = turn.state;
    const sent = this.#outbox.send(turn.state, effects);
    for (const effect of effects) {
      if (effect.do === 'answer')
        this.#requests.answered({ ...told(this.#inEnglish, effect), id: effect.request });
    }
    this.#isTimeTrusted = beat.clock?.trusted ?? this.#isTimeTrusted;
    if (this.#lockStep !== null) this.#link.beat();
    else if (beat.tick) this.#link.watch();
    if (beat.tick) {
      this.#ask();
      this.#offerStatus(false);
    }
    this.#turns.next(turn);
    const { step } = beat;
    if (step !== null) sent.then(() => this.#lockStep?.done(step)).catch((error) => this.fail(error));
  }

  #ask(): void {
    if (!this.#link.isUp()) return;
    for (const message of this.#asking.due(this.#clockwork.nowMs())) this.#outbox.say(message);
  }

  #offerStatus(now: boolean): void {
    const { core, plant } = this.#options;
    this.#board.offer(() => core.describe(plant, this.#state), this.#clockwork.nowMs(), now);
  }

  /** The core is told when its memory can't be written, and when it can again. */
  async #save(save: (state: unknown) => Promise<boolean>, state: unknown): Promise<boolean> {
    const writable = await save(state);
    if (writable !== this.#isWritable) {
      this.#options.log.error({ writable }, 'state-file');
      this.#inbox.put({ type: 'journal', writable });
    }
    this.#isWritable = writable;
    return writable;
  }
}
