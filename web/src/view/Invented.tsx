import { t } from '../model/words';

/** The mark of data that no person gave. */
export function Invented() {
  return (
    <span class="invented" title={t('app.inventedLong')}>
      {t('app.invented')}
    </span>
  );
}
