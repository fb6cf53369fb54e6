import { effect } from '@preact/signals';
import { render } from 'preact';
import { store } from './model/store';
import { readSettings } from './model/settings';
import { t, toothName, toothNumber } from './model/words';
import { lookWho, mustSignIn } from './model/session';
import { App } from './panels/App';
import { SignIn } from './panels/SignIn';
import './styles/base.css';
import './styles/frame.css';
import './styles/start.css';
import './styles/locate.css';
import './styles/work.css';
import './styles/pictures.css';
import './styles/ruler.css';
import './styles/bars.css';
import './styles/readings.css';
import './styles/tray.css';
import './styles/plan.css';
import './styles/settings.css';
import './styles/origin.css';
import './styles/guide.css';
import './styles/orders.css';
import './styles/chair.css';
import './styles/chair-panels.css';
import './styles/sign-in.css';
import './styles/record.css';
import './styles/papers.css';
import './styles/stock.css';

const SETTINGS_KEY = 'anfract.settings';
store.setSettings(readSettings(localStorage.getItem(SETTINGS_KEY), navigator.languages));

const dark = matchMedia('(prefers-color-scheme: dark)');
const applyLook = (): void => {
  const { theme } = store.state.settings.value;
  const night = theme === 'night' || (theme === 'auto' && dark.matches);
  document.documentElement.dataset.look = night ? 'night' : 'paper';
};
dark.addEventListener('change', applyLook);
effect(() => {
  localStorage.setItem(SETTINGS_KEY, JSON.stringify(store.state.settings.value));
  document.documentElement.lang = store.state.settings.value.language;
  applyLook();
});

store.onNavigate((hash) => {
  location.hash = hash;
});
addEventListener('hashchange', () => void store.arrive(location.hash));
addEventListener('visibilitychange', () => {
  if (document.visibilityState === 'visible' && !mustSignIn.value) void store.lookAgain();
});
/** Also after signing in, when the page that was asked for can be shown at last. */
const begin = (): void => {
  void store.loadAbout();
  void store.chair.start();
  void store.arrive(location.hash);
};

// A file that misses its place must not replace the page.
for (const kind of ['dragover', 'drop']) addEventListener(kind, (event) => event.preventDefault());

const named = (fdi: string): string => fdi && `${toothNumber(fdi)} ${toothName(fdi)}`;

effect(() => {
  const { chair, work, locate, route } = store.state;
  const tooth = work.detail.value.state === 'ready' ? work.detail.value.value.tooth.tooth.fdi : '';
  const scan = locate.scan.value.state === 'ready' ? locate.scan.value.value.label : '';
  const subject = { start: '', stock: t('stock.title'), locate: scan, work: named(tooth), chair: named(chair.sheet.value.state === 'ready' ? chair.sheet.value.value.fdi : '') }[route.value.page];
  document.title = subject === '' ? t('app.name') : `${subject} · ${t('app.name')}`;
});

// Not while developing: there the files change under the worker's hands.
if (import.meta.env.PROD && 'serviceWorker' in navigator) void navigator.serviceWorker.register('./offline.js');

const page = document.getElementById('page');
const Door = () => (mustSignIn.value ? <SignIn then={begin} /> : <App />);
void lookWho().then(() => {
  if (!mustSignIn.value) begin();
  if (page) render(<Door />, page);
});
