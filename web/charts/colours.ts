/** The sheet's colours as a canvas needs them: read from the style sheet, so that a theme is written down once. */
export interface Colours {
  readonly paper: string;
  readonly sheet: string;
  readonly ink: string;
  readonly quiet: string;
  readonly rule: string;
  readonly hair: string;
  readonly feed: string;
  readonly return: string;
  readonly band: string;
  readonly bandEdge: string;
  readonly tag: string;
  readonly tagInk: string;
  readonly action: string;
}

export function sheetColours(): Colours {
  const style = getComputedStyle(document.documentElement);
  const of = (name: string) => style.getPropertyValue(`--${name}`).trim();
  return {
    paper: of("paper"),
    sheet: of("sheet"),
    ink: of("ink"),
    quiet: of("quiet"),
    rule: of("rule"),
    hair: of("hair"),
    feed: of("feed"),
    return: of("return"),
    band: of("band"),
    bandEdge: of("band-edge"),
    tag: of("tag"),
    tagInk: of("tag-ink"),
    action: of("action"),
  };
}

/** One rem in pixels: canvas text grows with the reader's text size. */
export const remPixels = (): number => Number.parseFloat(getComputedStyle(document.documentElement).fontSize);
