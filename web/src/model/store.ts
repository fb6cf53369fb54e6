import * as client from '../api/client';
import { followJob } from '../api/job';
import { Shelf } from '../api/shelf';
import type { Device, ScanSource } from '../api/documents';
import type { Context } from './actions/context';
import { sentenceOf } from './actions/context';
import * as locate from './actions/locate';
import { History } from './history';
import { Chair } from './actions/chair';
import { Corrections } from './actions/corrections';
import * as pictures from './actions/pictures';
import { Rehearsal } from './actions/rehearsal';
import { stopMaking } from './actions/slow';
import * as start from './actions/start';
import * as work from './actions/work';
import type { OriginName } from './origins';
import { type Route, formatRoute, parseRoute } from './route';
import { type Pedal, type Settings, withKey } from './settings';
import type { PictureSettings, PictureTool } from './pictures';
import { type Beside, type ChairPanel, type Cursor, type Tool, createState } from './state';
import type { GreyWindow } from './grey';
import { loadStock } from './stock';
import type { Vec3 } from './vec';
import { language, notation } from './words';

const state = createState();
const context: Context = { state, server: { ...client, followJob } };
/** What was done to the case that is open, and can be taken back. */
const history = new History();
const rehearsal = new Rehearsal(context, history);
const corrections = new Corrections(context, history);
const chair = new Chair(context, () => Shelf.open());
/** Changes the address; the browser tells of it and `arrive` follows, so back and forward work alike. */
let navigate: (hash: string) => void = () => undefined;

/** The one place that changes what the page knows. Views read `state` and call these. */
export const store = {
  state,
  rehearsal,
  history,
  corrections,
  chair,

  onNavigate(change: (hash: string) => void): void {
    navigate = change;
  },

  /** Called with the part of the address after #. */
  async arrive(hash: string): Promise<void> {
    const route = parseRoute(hash);
    state.route.value = route;
    if (route.page !== 'chair') chair.leave();
    if (route.page === 'start') await start.loadStart(context);
    else if (route.page === 'stock') await loadStock();
    else if (route.page === 'locate') await locate.loadLocate(context, route.scan);
    else if (route.page === 'chair') await chair.open(route.caseId);
    else {
      history.clear();
      await work.loadWork(context, route.caseId, () => corrections.load());
    }
  },
  go(route: Route): void {
    navigate(formatRoute(route));
  },
  async loadAbout(): Promise<void> {
    try {
      state.about.value = { state: 'ready', value: await client.getAbout() };
    } catch (cause) {
      state.about.value = { state: 'failed', sentence: sentenceOf(cause) };
    }
  },
  setSettings(news: Partial<Settings>): void {
    const next = { ...state.settings.value, ...news };
    state.settings.value = next;
    language.value = next.language;
    notation.value = next.notation;
  },
  setPedalKey(pedal: Pedal, key: string): void {
    this.setSettings({ keys: withKey(state.settings.value.keys, pedal, key) });
  },

  async openScan(source: ScanSource, series_uid?: string): Promise<void> {
    const scan = await start.openScan(context, source, series_uid);
    if (scan !== null) this.go({ page: 'locate', scan });
  },
  async upload(files: readonly File[]): Promise<void> {
    const scan = await start.upload(context, files);
    if (scan !== null) this.go({ page: 'locate', scan });
  },
  /** Somebody looks at the page again: what came in meanwhile (a scan from the machine beside, a case from elsewhere) is there. */
  async lookAgain(): Promise<void> {
    const { page } = state.route.value;
    if (page === 'start') await start.loadStart(context);
    else if (page === 'stock') await loadStock();
  },
  async takeArchive(file: File): Promise<void> {
    const caseId = await start.takeArchive(context, file);
    if (caseId !== null) this.go({ page: 'work', caseId });
  },
  clearStartMessage(): void {
    state.start.sentence.value = null;
    state.start.candidates.value = null;
  },

  setTool(tool: Tool): void {
    state.locate.tool.value = tool;
  },
  setFdi(fdi: string): void {
    state.locate.fdi.value = fdi;
  },
  removeCanal(index: number): void {
    state.locate.canals.value = state.locate.canals.value.filter((_, i) => i !== index);
  },
  clearReference(): void {
    state.locate.reference_P.value = null;
  },
  moveCrosshair: (point_P: Vec3): void => locate.moveCrosshair(context, point_P),
  clickSection: (point_P: Vec3): void => locate.clickSection(context, point_P),
  sharpen: (): Promise<void> => locate.sharpen(context),
  setLocateGrey(window: GreyWindow): void {
    state.locate.grey.value = window;
  },
  /** Goes to the case when it is done, unless the user has gone elsewhere meanwhile. */
  trace: (): Promise<void> =>
    locate.trace(context, (caseId) => {
      if (state.route.value.page === 'locate') store.go({ page: 'work', caseId });
    }),
  cancelTrace: (): Promise<void> => locate.cancelTrace(context),

  setWorkGrey(window: GreyWindow): void {
    state.work.grey.value = window;
  },
  pressPicture: (point_P: Vec3): void => pictures.pressPicture(context, corrections, point_P),
  pressRays: (point_P: Vec3, viewer_P: Vec3): void => pictures.pressRays(context, point_P, viewer_P),
  chooseTool: (tool: PictureTool): void => pictures.chooseTool(context, tool),
  forgetMeasured: (index: number): void => pictures.forgetMeasured(context, index),
  /** Sets how the pictures are shown. */
  setPictures(news: Partial<PictureSettings>): void {
    const all = state.work.pictures;
    if (news.large !== undefined) all.large.value = news.large;
    if (news.layer !== undefined) all.layer.value = news.layer;
    if (news.shape !== undefined) all.shape.value = news.shape;
    if (news.alongTurn_deg !== undefined) all.alongTurn_deg.value = news.alongTurn_deg;
    if (news.rayTurn_deg !== undefined) all.rayTurn_deg.value = news.rayTurn_deg;
  },
  hover: (cursor: Cursor | null): void => work.hover(context, cursor),
  pin: (cursor: Cursor): void => work.pin(context, cursor),
  setSpan(span: 'whole' | 'canals'): void {
    state.work.span.value = span;
  },
  showBeside(what: Beside): void {
    state.work.beside.value = what;
  },
  fold(canal: string): void {
    const next = new Set(state.work.folded.value);
    if (!next.delete(canal)) next.add(canal);
    state.work.folded.value = next;
  },
  foldAllBut(canal: string): void {
    state.work.folded.value = new Set(work.canalsOf(state).map((c) => c.name).filter((name) => name !== canal));
  },
  /** Opens the tray for a canal. */
  chooseDeviceFor(canal: string): void {
    state.work.trayFor.value = canal;
    state.work.beside.value = 'tray';
  },
  setTrayFor(canal: string | null): void {
    state.work.trayFor.value = canal;
  },
  stopPlan: (): Promise<void> => stopMaking(context.server, state.work.making.plan),
  async planAgain(): Promise<void> {
    const { detail } = state.work;
    if (detail.value.state === 'ready') await work.loadPlan(context, detail.value.value.id);
  },
  viewStep(key: string | null): void {
    state.chair.viewed.value = key;
    state.chair.panel.value = null;
  },
  openPanel(panel: ChairPanel | null): void {
    state.chair.panel.value = panel;
  },
  clearChairNews(): void {
    state.chair.news.value = null;
    state.chair.sentence.value = null;
  },
  showOrigin(name: OriginName | null): void {
    state.origin.value = name;
  },
  clearWorkMessage(): void {
    state.work.sentence.value = null;
  },
  device(id: string): Device | undefined {
    const tray = state.work.tray.value;
    return tray.state === 'ready' ? tray.value.devices.find((d) => d.id === id) : undefined;
  },
};
