import type { ComponentChildren } from 'preact';
import { t } from '../../model/words';

/** How to read the ruler, opened on demand. */
export function Legend() {
  return (
    <details class="legend">
      <summary>{t('ruler.legend')}</summary>
      <div class="card">
        <ul>
          <Entry text={t('ruler.legend.sd')}>
            <rect class="spread" x={0} y={3} width={36} height={12} />
            <rect class="lumen" x={0} y={6} width={36} height={6} />
          </Entry>
          <Entry text={`${t('ruler.legend.dentine')}: ${t('ruler.thinBelow')}`}>
            <rect class="dentine" x={0} y={2} width={36} height={14} />
          </Entry>
          <Entry text={t('ruler.legend.crown')}>
            <rect class="crown" x={0} y={2} width={36} height={4} />
            <rect class="crown" x={0} y={12} width={36} height={4} />
          </Entry>
          <Entry text={t('ruler.legend.end')}>
            <rect class="end-spread" x={10} y={1} width={16} height={16} />
            <line class="end" x1={18} x2={18} y1={1} y2={17} />
          </Entry>
          <Entry text={`${t('ruler.curve')}, ${t('ruler.wall')}: ${t('ruler.legend.risk')}`}>
            {[0, 1, 2, 3].map((risk) => (
              <rect key={risk} class={`risk-${risk}`} x={risk * 9} y={14 - risk * 4} width={9} height={3 + risk * 4} />
            ))}
          </Entry>
          <Entry text={t('ruler.legend.left')}>
            <rect class="risk-1" x={0} y={6} width={36} height={9} />
            <rect class="danger-zone" x={18} y={13.5} width={18} height={2.5} />
          </Entry>
          <Entry text={t('ruler.legend.bind')}>
            <line class="body" x1={0} x2={36} y1={9} y2={9} />
            <rect class="bind" x={10} y={4.5} width={16} height={9} rx={2} />
          </Entry>
          <Entry text={t('ruler.legend.wanted')}>
            <line class="body" x1={0} x2={36} y1={9} y2={9} />
            <path class="wanted" d="M24 4 l4 5 l-4 5 l-4 -5 z" />
          </Entry>
        </ul>
      </div>
    </details>
  );
}

function Entry({ text, children }: { text: string; children: ComponentChildren }) {
  return (
    <li>
      <svg width={36} height={18} aria-hidden="true">
        {children}
      </svg>
      {text}
    </li>
  );
}
