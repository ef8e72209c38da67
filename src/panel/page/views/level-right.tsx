// A system without floats or level was looked at: said after reading what that means, because much water moves on that word.
import { Act } from '../parts/button.tsx';
import { Dialog } from '../parts/dialog.tsx';
import { Who, whoSays } from '../parts/who.tsx';
import { ask } from '../state/api.ts';
import { live, standing } from '../state/live.ts';
import { t } from '../texts.ts';

export function LevelRight({ onClose }: { readonly onClose: () => void }) {
  const system = live.task.value?.vessel;
  if (system === undefined) return null;
  const vessel = standing.value?.vessels[system]?.name ?? system;
  return (
    <Dialog title={t('level-right.title', { vessel })} onClose={onClose}>
      <p class="caution">{t('level-right.care')}</p>
      <Who />
      <p class="buttons large">
        <Act
          kind="main"
          onPress={() => {
            void ask({ ask: 'level-right', system, ...whoSays() });
            onClose();
          }}
        >
          {t('level-right.send')}
        </Act>
      </p>
    </Dialog>
  );
}
