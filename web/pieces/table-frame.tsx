/** A table that may be wider than the screen: it scrolls by itself, by keyboard as well. */
import type { ComponentChildren } from "preact";

export function TableFrame({ label, children }: { label: string; children: ComponentChildren }) {
  return (
    // biome-ignore lint/a11y/noNoninteractiveTabindex: what scrolls must be reachable by keyboard (WCAG 2.1.1)
    <section class="table-frame" tabIndex={0} aria-label={label}>
      <table>{children}</table>
    </section>
  );
}
