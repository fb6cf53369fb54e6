/** The program's mark: a winding passage on a ruler. */
export function Mark() {
  return (
    <svg viewBox="0 0 32 32" aria-hidden="true">
      <rect width="32" height="32" rx="7" fill="var(--canal)" />
      <path d="M10 5c0 7 2 8 5 11s6 4 6 11" fill="none" stroke="var(--sheet)" stroke-width="3.2" stroke-linecap="round" />
      <path d="M5 27h22" stroke="var(--sheet)" stroke-width="1.6" stroke-dasharray="1.5 2.5" />
    </svg>
  );
}
