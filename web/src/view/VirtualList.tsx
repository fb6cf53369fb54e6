import { Virtualizer, elementScroll, observeElementOffset, observeElementRect } from '@tanstack/virtual-core';
import { useSignal } from '@preact/signals';
import type { ComponentChildren } from 'preact';
import { useEffect, useMemo, useRef } from 'preact/hooks';

interface Props {
  label: string;
  count: number;
  row_px: number;
  row: (index: number) => ComponentChildren;
}

/** A list of rows of one height that draws only those in sight; readers are told of all. */
export function VirtualList({ label, count, row_px, row }: Props) {
  const scroller = useRef<HTMLDivElement>(null);
  const changed = useSignal(0);
  const options = {
    count,
    getScrollElement: () => scroller.current,
    estimateSize: () => row_px,
    overscan: 6,
    scrollToFn: elementScroll,
    observeElementRect,
    observeElementOffset,
    onChange: () => changed.value++,
  };
  const virtual = useMemo(() => new Virtualizer<HTMLDivElement, HTMLDivElement>(options), []);
  virtual.setOptions(options);
  useEffect(() => virtual._didMount(), []);
  useEffect(() => virtual._willUpdate());
  void changed.value;
  return (
    <div class="virtual" ref={scroller} tabIndex={0} role="region" aria-label={label}>
      <div class="sheet" role="list" style={{ height: `${virtual.getTotalSize()}px` }}>
        {virtual.getVirtualItems().map((item) => (
          <div key={item.index} role="listitem" aria-setsize={count} aria-posinset={item.index + 1} style={{ transform: `translateY(${item.start}px)`, height: `${row_px}px` }}>
            {row(item.index)}
          </div>
        ))}
      </div>
    </div>
  );
}
