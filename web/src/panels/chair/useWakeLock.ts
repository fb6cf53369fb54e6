import { useEffect } from 'preact/hooks';

/** Keeps the screen from going dark while the view is shown, where the browser can. */
export function useWakeLock(): void {
  useEffect(() => {
    let lock: WakeLockSentinel | null = null;
    let here = true;
    const take = (): void => {
      if (document.visibilityState !== 'visible' || !('wakeLock' in navigator)) return;
      navigator.wakeLock.request('screen').then(
        (got) => {
          if (here) lock = got;
          else void got.release();
        },
        () => undefined,
      );
    };
    take();
    document.addEventListener('visibilitychange', take);
    return () => {
      here = false;
      document.removeEventListener('visibilitychange', take);
      void lock?.release();
    };
  }, []);
}
