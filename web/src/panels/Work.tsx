import type { CaseDetail } from '../api/documents';
import { store } from '../model/store';
import { t } from '../model/words';
import { Message } from '../view/Message';
import { Tooth3D } from '../view/Tooth3D';
import { useHistoryKeys } from './HistoryButtons';
import { Findings } from './Findings';
import { PlanPanel } from './PlanPanel';
import { Readings } from './Readings';
import { Ruler } from './Ruler';
import { Pictures } from './pictures/Pictures';
import { ReadingPanel } from './pictures/ReadingPanel';

export function Work() {
  const detail = store.state.work.detail.value;
  if (detail.state === 'waiting') return <p class="wait">{t('app.loading')} …</p>;
  if (detail.state === 'failed') {
    return (
      <div class="wait">
        <Message sentence={detail.sentence} />
      </div>
    );
  }
  return <Ready detail={detail.value} />;
}

function Ready({ detail }: { detail: CaseDetail }) {
  const { sentence, pictures } = store.state.work;
  const large = pictures.large.value;
  useHistoryKeys();
  return (
    <div class={['work', large && 'reading', detail.scan === '' && 'no-scan'].filter(Boolean).join(' ')}>
      <div class="notes-top">
        {sentence.value !== null && <Message sentence={sentence.value} dismiss={() => store.clearWorkMessage()} />}
        <Findings tooth={detail.tooth} />
      </div>
      <Tooth3D tooth={detail.tooth} />
      <Ruler canals={detail.tooth.canals} />
      <Pictures tooth={detail.tooth} hasScan={detail.scan !== ''} />
      <div class="beside">
        <Readings />
        {large ? <ReadingPanel /> : <PlanPanel caseId={detail.id} />}
      </div>
    </div>
  );
}
