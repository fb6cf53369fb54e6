import { useEffect, useRef, useState } from 'preact/hooks';

/** Size in CSS pixels of an element, kept current. */
export function useSize<T extends HTMLElement>() {
  const ref = useRef<T>(null);
  const [size, setSize] = useState({ width: 0, height: 0 });
  useEffect(() => {
    const element = ref.current;
    if (!element) return;
    const observer = new ResizeObserver(() => {
      setSize({ width: Math.floor(element.clientWidth), height: Math.floor(element.clientHeight) });
    });
    observer.observe(element);
    return () => observer.disconnect();
  }, []);
  return { ref, ...size };
}
