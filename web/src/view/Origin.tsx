import type { ComponentChildren } from 'preact';
import type { OriginName } from '../model/origins';
import { t } from '../model/words';

interface Props {
  of: OriginName;
  /** Shows where the number comes from. */
  show: (of: OriginName) => void;
  children: ComponentChildren;
}

/** The name of a number; pressed, it tells where the number comes from. */
export function Origin({ of, show, children }: Props) {
  return (
    <button type="button" class="origin" title={t('origin.ask')} onClick={() => show(of)}>
      {children}
    </button>
  );
}
