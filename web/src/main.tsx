import { effect } from '@preact/signals';
import { render } from 'preact';
import { store } from './model/store';
import type { Theme } from './model/state';
import { App } from './panels/App';
import './styles/base.css';
import './styles/frame.css';
import './styles/start.css';
import './styles/locate.css';
import './styles/work.css';
import './styles/ruler.css';
import './styles/plan.css';

const THEME_KEY = 'anfract.look';
const saved = localStorage.getItem(THEME_KEY);
if (saved === 'paper' || saved === 'night' || saved === 'auto') store.setTheme(saved satisfies Theme);

const dark = matchMedia('(prefers-color-scheme: dark)');
const applyLook = (): void => {
  const theme = store.state.theme.value;
  const night = theme === 'night' || (theme === 'auto' && dark.matches);
  document.documentElement.dataset.look = night ? 'night' : 'paper';
};
dark.addEventListener('change', applyLook);
effect(() => {
  localStorage.setItem(THEME_KEY, store.state.theme.value);
  applyLook();
});

store.onNavigate((hash) => {
  location.hash = hash;
});
addEventListener('hashchange', () => void store.arrive(location.hash));
void store.loadAbout();
void store.arrive(location.hash);

const page = document.getElementById('page');
if (page) render(<App />, page);
