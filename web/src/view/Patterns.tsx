/** Fill patterns that several pictures share. */
export function Patterns() {
  return (
    <svg class="unseen" aria-hidden="true">
      <defs>
        <pattern id="bind-hatch" width="5" height="5" patternTransform="rotate(45)" patternUnits="userSpaceOnUse">
          <rect width="5" height="5" fill="var(--device)" />
          <rect width="2" height="5" fill="var(--device-hatch)" />
        </pattern>
      </defs>
    </svg>
  );
}
