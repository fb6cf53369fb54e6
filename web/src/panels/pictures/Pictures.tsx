import { useSignal } from '@preact/signals';
import type { Canal, ScanDetail, Tooth } from '../../api/documents';
import { findCanal } from '../../model/actions/work';
import type { Brick } from '../../model/brick';
import { type CanalAt, canalAt } from '../../model/canal';
import { gridSections } from '../../model/planes';
import { store } from '../../model/store';
import { t } from '../../model/words';
import { Across } from './Across';
import { Along } from './Along';
import { GridPicture } from './GridPicture';
import { PictureTools } from './PictureTools';
import { Radiograph } from './Radiograph';

/** What every picture of the scan at the cursor needs. */
export interface AtCursor {
  brick: Brick;
  scan: ScanDetail;
  canal: Canal;
  at: CanalAt;
  tooth: Tooth;
}

/** The scan at the cursor: across the canal, along it, three sections of the voxel grid, and an expected radiograph. */
export function Pictures({ tooth, hasScan }: { tooth: Tooth; hasScan: boolean }) {
  const { brick, scan, cursor, pictures } = store.state.work;
  const zoom = useSignal(1);
  const now = cursor.value;
  const canal = now && findCanal(store.state, now.canal);
  if (!brick.value || !scan.value || !now || !canal) {
    return (
      <section class="card pictures" aria-label={t('sections.title')}>
        <p class="soft">{hasScan ? `${t('section.empty')} …` : t('sections.noScan')}</p>
      </section>
    );
  }
  const shared: AtCursor = { brick: brick.value, scan: scan.value, canal, at: canalAt(canal, now.depth_mm), tooth };
  return (
    <section class="card pictures" aria-label={t('sections.title')}>
      <Across {...shared} />
      <Along {...shared} />
      {gridSections(brick.value.geometry).map((section) => (
        <GridPicture key={section.name} {...shared} section={section} zoom={zoom.value} />
      ))}
      {pictures.large.value && <Radiograph brick={brick.value} tooth={tooth} at={shared.at} />}
      <PictureTools scan={scan.value} zoom={zoom.value} setZoom={(value) => (zoom.value = value)} />
    </section>
  );
}
