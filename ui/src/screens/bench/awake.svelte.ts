/** Keeps the screen from going dark as long as something is shown. */

class Awake {
  /** Whether it is kept; null where this browser cannot. */
  held = $state<boolean | null>(null);

  /** Begins, and gives what ends it. */
  keep(): () => void {
    let lock: WakeLockSentinel | null = null;
    let gone = false;
    const stay = async () => {
      if (!('wakeLock' in navigator) || document.visibilityState !== 'visible') return;
      try {
        lock = await navigator.wakeLock.request('screen');
        if (gone) return void lock.release();
        this.held = true;
        lock.addEventListener('release', () => (this.held = false));
      } catch {
        this.held = false;
      }
    };
    void stay();
    document.addEventListener('visibilitychange', stay);
    return () => {
      gone = true;
      document.removeEventListener('visibilitychange', stay);
      void lock?.release();
    };
  }
}

export const awake = new Awake();
