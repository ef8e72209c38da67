// An incident as a story: what it was, how long it stood, what happened round it, and the lines that show it.
import { useEffect, useState } from 'preact/hooks';
import type { Story } from '../../contract.ts';
import { Mark } from '../drawing/symbols.tsx';
import { read } from '../state/api.ts';
import { moment } from '../state/time.ts';
import { sentence, t } from '../texts.ts';
import { duration } from '../units.ts';
import { EventList, lastedMs } from './events.tsx';
import { Charts } from './history.tsx';

export function StoryView({ id }: { readonly id: string }) {
  const [story, setStory] = useState<Story | null>(null);
  const [isGone, setGone] = useState(false);
  useEffect(() => {
    read<Story>(`api/incidents/${encodeURIComponent(id)}`).then(setStory, () => setGone(true));
  }, [id]);
  return (
    <div class="history">
      <section class="panel" aria-labelledby="story-head">
        <p>
          <a href="#history">{t('history.all')}</a>
        </p>
        {isGone ? <p class="reason">{t('story.gone')}</p> : null}
        {story === null ? null : <Told story={story} />}
      </section>
      {story === null ? null : (
        <div class="happened">
          <EventList events={story.events.toReversed()} />
        </div>
      )}
    </div>
  );
}

function Told({ story }: { readonly story: Story }) {
  const { incident, channels } = story;
  const { fromMs, acknowledgedMs, toMs } = incident;
  const stood = [{ fromMs, toMs: toMs ?? story.toMs }];
  return (
    <>
      <h2 id="story-head">
        <Mark kind={incident.priority} />
        {sentence(incident.words)}
      </h2>
      <dl class="facts-list">
        <dt>{t('story.began')}</dt>
        <dd>{moment(fromMs)}</dd>
        <dt>{t('story.seen')}</dt>
        <dd>
          {acknowledgedMs === null
            ? t('story.not-seen')
            : t('story.after', { time: duration(acknowledgedMs - fromMs) })}
        </dd>
        <dt>{t('story.ended')}</dt>
        <dd>{toMs === null ? t('story.still') : moment(toMs)}</dd>
        <dt>{t('story.lasted')}</dt>
        <dd>{duration(lastedMs(incident))}</dd>
        <dt>{t('story.mend')}</dt>
        <dd>{sentence(incident.response)}</dd>
      </dl>
      <Charts span={story} events={story.events} channels={channels} marked={stood} />
    </>
  );
}
