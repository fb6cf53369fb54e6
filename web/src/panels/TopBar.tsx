import * as format from '../model/format';
import { formatRoute, type Route } from '../model/route';
import { store } from '../model/store';
import { t, toothName, toothNumber } from '../model/words';
import { Invented } from '../view/Invented';
import { Mark } from '../view/Mark';
import { From } from './OriginPanel';
import { SettingsButton } from './Settings';
import { SignedIn } from './SignIn';

export function TopBar() {
  return (
    <header class="top">
      <a class="mark" href="#/">
        <Mark />
        {t('app.name')}
      </a>
      <Steps />
      <Subject />
      <a class="aside" href={formatRoute({ page: 'stock' })} aria-current={store.state.route.value.page === 'stock' ? 'page' : undefined}>
        {t('stock.title')}
      </a>
      <SignedIn />
      <SettingsButton />
    </header>
  );
}

function Steps() {
  const { route, work } = store.state;
  const here = route.value;
  const detail = work.detail.value;
  const scan = here.page === 'locate' ? here.scan : here.page === 'work' && detail.state === 'ready' ? detail.value.scan : null;
  const steps: { page: Route['page']; to: string | null }[] = [
    { page: 'start', to: formatRoute({ page: 'start' }) },
    { page: 'locate', to: scan === null ? null : formatRoute({ page: 'locate', scan }) },
    { page: 'work', to: here.page === 'work' ? formatRoute(here) : null },
    { page: 'chair', to: here.page === 'work' ? formatRoute({ page: 'chair', caseId: here.caseId }) : null },
  ];
  return (
    <nav class="steps" aria-label={t('step.nav')}>
      <ol>
        {steps.map(({ page, to }) => (
          <li key={page}>
            {to === null ? (
              <span>{t(`step.${page}`)}</span>
            ) : (
              <a href={to} aria-current={here.page === page ? 'page' : undefined}>
                {t(`step.${page}`)}
              </a>
            )}
          </li>
        ))}
      </ol>
    </nav>
  );
}

/** What is being worked on: the scan or the tooth, with the facts of the scan that bound every figure. */
function Subject() {
  const { route, locate, work } = store.state;
  if (route.value.page === 'locate' && locate.scan.value.state === 'ready') {
    const scan = locate.scan.value.value;
    return (
      <div class="subject">
        <h1>{scan.label}</h1>
        {scan.invented && <Invented />}
        <p class="soft">{t('fact.voxel', { value: format.voxel(scan.geometry.spacing_mm) })}</p>
      </div>
    );
  }
  if (route.value.page === 'work' && work.detail.value.state === 'ready') {
    const { tooth } = work.detail.value.value;
    const facts = tooth.scan;
    const parts = [
      facts?.voxel_mm && t('fact.voxel', { value: format.voxel(facts.voxel_mm) }),
      facts?.sharpness_fwhm_mm && t('fact.sharpness', { value: format.width(facts.sharpness_fwhm_mm) }),
      facts?.noise && t('fact.noise', { value: format.fixed(facts.noise, 0) }),
    ].filter(Boolean);
    const name = toothName(tooth.tooth.fdi);
    return (
      <div class="subject" title={parts.join(' · ')}>
        <h1 class="tooth-name">{name === '' ? t('tooth.unknown') : `${name} · ${toothNumber(tooth.tooth.fdi)}`}</h1>
        {tooth.invented && <Invented />}
        <p class="soft">
          <From of="scan">{parts.join(' · ')}</From>
        </p>
      </div>
    );
  }
  return <div class="subject" />;
}
