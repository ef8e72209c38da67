// The station file that goes with the plan: drafted, or what stands in its way.
import type { Design } from '../design.ts';
import { draftOf } from '../draft.ts';
import { figure, type Section, section } from '../report.ts';
import { counted } from '../words.ts';

export function station(design: Design): Section {
  const draft = draftOf(design);
  const id = 'station';
  const title = 'The station file';
  if (!draft.ok) {
    return section({
      id,
      title,
      says: [
        'These parts make no station file yet; everything else of this report stands.',
        ...draft.reasons,
      ],
      figures: [figure('drafted', 'Drafted', null, '', 0, 'no')],
    });
  }
  const { routes, actuators, sensors } = draft.file;
  const { warnings } = draft.loaded;
  return section({
    id,
    title,
    says: [
      `The option --station writes the station of this plan: ${counted(Object.keys(routes).length, 'route')}, ${counted(Object.keys(actuators).length, 'actuator')}, ${counted(Object.keys(sensors).length, 'sensor')}. Fill in the real topics.`,
      warnings.length === 0
        ? 'The command check finds nothing to say against it.'
        : `The command check will say: ${warnings.map(({ id: which, words }) => `${which} ${words}`).join(' ')}`,
    ],
    figures: [figure('warnings', 'Warnings of check', warnings.length, '')],
  });
}
