import type { Measures } from '../../api/documents';
import * as format from '../../model/format';
import { store } from '../../model/store';
import { t } from '../../model/words';
import { turnText } from './Radiograph';

/** From where the expected radiograph is taken: by hand, or one of the angles the measures give. */
export function RayAngles() {
  const { measures, pictures, frame } = store.state.work;
  const turn = pictures.rayTurn_deg.value;
  const set = (rayTurn_deg: number): void => store.setPictures({ rayTurn_deg });
  const named = measures.value.state === 'ready' ? measures.value.value : null;
  return (
    <section class="part">
      <h3>{t('rays.title')}</h3>
      <label class="turn">
        <span>{t('rays.turn')}</span>
        <input type="range" min={-90} max={90} step={1} value={turn} onInput={(event) => set(Number(event.currentTarget.value))} />
        <output>{format.fixed(turn, 0)}°</output>
      </label>
      <ul class="angles">
        <Angle turn={0} now={turn} set={set} text={t('rays.usual')} />
        {named?.separation && named.separation.best.turn_deg !== 0 && (
          <Angle turn={named.separation.best.turn_deg} now={turn} set={set} text={apartText(named.separation)} />
        )}
        {frame.value &&
          named?.canals
            .filter((canal) => canal.hidden_schneider_deg >= HIDDEN_DEG)
            .map((canal) => (
              <Angle
                key={canal.canal}
                turn={halfTurn(canal.views.worst.turn_deg ?? 0)}
                now={turn}
                set={set}
                text={t('rays.worst', { canal: canal.canal, deg: format.fixed(canal.views.worst.schneider_deg, 0), seen: format.fixed(canal.views.clinical.schneider_deg, 0) })}
              />
            ))}
      </ul>
      <p class="soft">{t('rays.note')}</p>
    </section>
  );
}

/** The two canals the usual view shows least apart, and how much of their way either view parts them. */
function apartText({ usual, best }: NonNullable<Measures['separation']>): string {
  const worst = usual.pairs.reduce((a, b) => (b.apart_share < a.apart_share ? b : a));
  const then = best.pairs.find((pair) => pair.canals.join() === worst.canals.join());
  const percent = (share: number): string => format.fixed(100 * share, 0);
  return t('rays.apart', { canals: worst.canals.join(', '), best: percent(then?.apart_share ?? 0), usual: percent(worst.apart_share) });
}

/** A curve counts as hidden when the usual view shows this much less of it. Ours. */
const HIDDEN_DEG = 5;

/** The same view from the side the slider reaches: seen from behind a radiograph is its mirror image. */
const halfTurn = (turn_deg: number): number => (turn_deg > 90 ? turn_deg - 180 : turn_deg);

function Angle({ turn, now, set, text }: { turn: number; now: number; set: (turn: number) => void; text: string }) {
  return (
    <li>
      <button type="button" aria-pressed={Math.abs(turn - now) < 0.5} onClick={() => set(Math.round(turn))}>
        {turnText(turn)}
      </button>
      <span>{text}</span>
    </li>
  );
}
