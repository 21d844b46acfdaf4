/**
 * Tags of a PDF: which marks on a page are a heading, a paragraph, a cell or the picture, and in which order they are read.
 * Source: ISO 32000-1:2008, 14.6 (marked content), 14.7 (logical structure), 14.8 (tagged PDF); clause numbers from memory.
 */
import type { PDFDocument, PDFOperatorNames, PDFPage, PDFRef } from "pdf-lib";

/** Draws a piece of what is being tagged on a page. */
type Piece = (page: PDFPage, draw: () => void) => void;

export interface Tagger {
  /**
   * A heading, a paragraph or the picture, in as many pieces as it has lines, on as many pages.
   * @param alternate what the picture shows, for one who cannot see it
   */
  tagged(tag: string, draw: (piece: Piece) => void, alternate?: string): void;
  /** a table: what `draw` gives to `row` */
  table(draw: () => void): void;
  row(draw: (cell: (tag: "TH" | "TD", page: PDFPage, drawCell: () => void) => void) => void): void;
  /** rules, page numbers: not read out */
  artifact: Piece;
  /** writes the structure into the document; once, at the end */
  finish(): void;
}

export function pageTagger(lib: typeof import("pdf-lib"), pdf: PDFDocument): Tagger {
  const { PDFHexString, PDFName, PDFNumber, PDFOperator, PDFOperatorNames: names } = lib;
  const { context } = pdf;
  const root = context.nextRef();
  const top = { ref: context.nextRef(), kids: [] as PDFRef[] };
  let parent = top;
  /** per page, the element of each piece of marked content, by its number */
  const owners = new Map<PDFPage, PDFRef[]>();

  const mark = (page: PDFPage, name: PDFOperatorNames, ...operands: unknown[]) =>
    page.pushOperators(PDFOperator.of(name, operands as never));

  /** An element whose children, elements or pieces of pages, `fill` gives; it is added to the one that is open. */
  const element = (tag: string, fill: (ref: PDFRef) => unknown[], rest: Record<string, unknown> = {}) => {
    const ref = context.nextRef();
    parent.kids.push(ref);
    const P = parent.ref;
    const K = fill(ref);
    context.assign(ref, context.obj({ Type: "StructElem", S: tag, P, K, ...rest } as never));
  };

  /** The same, open while `draw` adds elements to it. */
  const nested = (tag: string, draw: () => void) =>
    element(tag, (ref) => {
      const outer = parent;
      const inner = { ref, kids: [] as PDFRef[] };
      parent = inner;
      draw();
      parent = outer;
      return inner.kids;
    });

  const piece = (page: PDFPage, tag: string, owner: PDFRef, draw: () => void) => {
    const owned = owners.get(page) ?? [];
    owners.set(page, owned);
    const MCID = owned.push(owner) - 1;
    mark(page, names.BeginMarkedContentSequence, PDFName.of(tag), context.obj({ MCID }));
    draw();
    mark(page, names.EndMarkedContent);
    return context.obj({ Type: "MCR", Pg: page.ref, MCID } as never);
  };

  const tagged: Tagger["tagged"] = (tag, draw, alternate) =>
    element(
      tag,
      (ref) => {
        const pieces: unknown[] = [];
        draw((page, drawPiece) => pieces.push(piece(page, tag, ref, drawPiece)));
        return pieces;
      },
      alternate === undefined ? {} : { Alt: PDFHexString.fromText(alternate) },
    );

  return {
    tagged,
    table: (draw) => nested("Table", draw),
    row: (draw) => nested("TR", () => draw((tag, page, drawCell) => tagged(tag, (piece) => piece(page, drawCell)))),
    artifact(page, draw) {
      mark(page, names.BeginMarkedContent, PDFName.of("Artifact"));
      draw();
      mark(page, names.EndMarkedContent);
    },
    finish() {
      const numbers = pdf.getPages().flatMap((page, index) => {
        page.node.set(PDFName.of("StructParents"), PDFNumber.of(index));
        return [PDFNumber.of(index), context.register(context.obj(owners.get(page) ?? []))];
      });
      context.assign(top.ref, context.obj({ Type: "StructElem", S: "Document", P: root, K: top.kids }));
      const tree = { Type: "StructTreeRoot", K: [top.ref], ParentTree: { Nums: numbers } };
      context.assign(root, context.obj(tree as never));
      pdf.catalog.set(PDFName.of("StructTreeRoot"), root);
      pdf.catalog.set(PDFName.of("MarkInfo"), context.obj({ Marked: true }));
    },
  };
}
