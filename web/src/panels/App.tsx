import { store } from '../model/store';
import { t } from '../model/words';
import { Patterns } from '../view/Patterns';
import { Cautions } from './Cautions';
import { Chair } from './chair/Chair';
import { Guide } from './Guide';
import { Locate } from './Locate';
import { OriginPanel } from './OriginPanel';
import { Start } from './Start';
import { StockPage } from './stock/StockPage';
import { TopBar } from './TopBar';
import { Work } from './Work';

export function App() {
  const page = store.state.route.value.page;
  if (page === 'chair') {
    return (
      <>
        <Patterns />
        <Chair />
        <OriginPanel />
      </>
    );
  }
  return (
    <>
      <a class="skip" href="#work" onClick={focusMain}>
        {t('app.skip')}
      </a>
      <Patterns />
      <div class="heads">
        <TopBar />
        <Guide />
      </div>
      <main id="work" tabIndex={-1} data-page={page}>
        {page === 'start' && <Start />}
        {page === 'stock' && <StockPage />}
        {page === 'locate' && <Locate />}
        {page === 'work' && <Work />}
      </main>
      <Cautions />
      <OriginPanel />
    </>
  );
}

/** The address after # is the page's own, so the skip link moves the focus itself. */
function focusMain(event: Event): void {
  event.preventDefault();
  document.getElementById('work')?.focus();
}
