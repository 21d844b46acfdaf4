/**
 * What a header cell says of its column: the unit, whether it is time, a count of rows, or an extreme or mean of
 * the value. Headers come in any of the languages that meters are sold in; the words here are the common ones.
 */
import { dateOrderIn } from "./run-together.ts";
import { parseUnit, type Unit } from "./unit.ts";

/** `spread`: how far the value moves or may move (deviation, ripple, alarm), never the value itself */
export type HeaderRole = "time" | "index" | "lowest" | "highest" | "mean" | "spread" | "unit" | "value";

export interface HeaderCell {
  /** as it stands in the file, trimmed */
  readonly text: string;
  readonly unit: Unit | null;
  readonly role: HeaderRole;
  /** what the words name where no unit stands: null, they name nothing that we know */
  readonly named: "volts" | "amps" | "other" | null;
  /** the words speak of time since the start */
  readonly elapsed: boolean;
}

const indexWords =
  /^(#|\p{L}{1,12}[ .]?#|id|n[or°]?\.?|num(ber)?|index|idx|row|count(er)?|seq(uence)?|points?|scan|item|(sample|record|reading|data|measurement)s?[ _-]?(no?\.?|nr\.?|num(ber)?|index|id|#|count)|samples?|records?|lfd\.? ?nr\.?|messung ?nr\.?|№|n[º°]|núm(ero)?\.?|номер|lp\.?|番号|序号|번호)$/iu;
const timeWords =
  /(time|date|stamp|elapsed|clock|epoch|unix|zeit|datum|uhr|heure|temps|horodat|hora|fecha|tiempo|tijd|orario|дата|время|czas|klocka|kello|klokk|aika|päivä|saat|tarih|dátum|idő|horário|momento|ώρα|ημερομηνία|時刻|時間|日時|日付|时间|日期|시간|날짜|일시)|^(t|tid|dato|čas|ora|data ?\/? ?ora|data|utc|uptime|age|since start|seconds?|secs?|millis(econds)?|minutes|hours)$|(^|[^a-z])hhmmss([^a-z]|$)/i;
const elapsedWords = /elapsed|since|relative|duration|dauer|laufzeit|verstrichen|uptime|from start|écoulé|run ?time/i;
const lowestWords = /(^|[^a-z])(min|minimum|lowest|low|mín|mindest|мин|最小)([^a-zа-я]|$)/i;
const highestWords = /(^|[^a-z])(max|maximum|highest|high|peak|máx|inrush|макс|最大)([^a-zа-я]|$)/i;
const meanWords =
  /(^|[^a-z])(avg|average|mean|mittel(wert)?|moy(enne)?|média|media|gemiddelde?|durchschnitt|promedio|średnia|medel|snitt|gjennomsnitt|keskiarvo|сред(нее)?|平均)([^a-zа-я]|$)/i;
const spreadWords =
  /(^|[^a-z])(st(an)?d(ard)?[ _.-]*(dev(iation)?|abw(eichung)?)?|stdev|deviation|sigma|variance|ripple|noise|v?p-?p|pk-?pk|peak[ -]to[ -]peak|[a-zä]*abweichung|écart|alarm|limit|threshold|setpoint)([^a-z]|$)|σ/i;
const unitWords = /^(units?|einheit|unité|unidad|unità|eenheid|function|funktion|mode|range)( ?\d+)?$/i;
const voltWords =
  /volt|spannung|tensi[oóu]n|tensione|tensão|spänning|spenning|spænding|napi[eę]cie|napět|jännite|gerilim|feszültség|τάση|напря[жг]|напруг|電[圧壓]|电压|전압|^[uv](?![a-z])/i;
const ampWords =
  /curr?ent|amp(s|ere|érage|$)|str[oø]m|courant|intensité|corriente|corrente|stroom|ström|pr[ąa]d|^proud|virta|akım|áramerősség|ένταση|ток|電流|电流|전류|^i(?![a-z])|^amps?/i;
const otherWords =
  /temp(?!s\b)|humid|resist|ohm|power|watt|freq|hertz|capac|energy|charge|pressure|speed|rpm|widerstand|leistung|status|flag|range|mode/i;
/** A letter after these names a channel and is no unit. */
const channelWord =
  /(^|[\s_-])(ch|chan|channel|kanal|canal|meter|probe|input|phase|port|sensor|line|side|bank|handheld|log|battery|batt?)$/i;

/**
 * @example parseHeaderCell("U bat [mV]").unit // millivolts
 * @example parseHeaderCell("Max (V)").role // "highest"
 */
export function parseHeaderCell(cell: string): HeaderCell {
  const text = cell.trim();
  const { name, unit } = splitUnit(text);
  const role = roleOf(name, text, unit);
  return { text, unit: withAlternating(unit, text), role, named: namedBy(name), elapsed: elapsedWords.test(text) };
}

/** The cells of one header. `Bat A` beside `Bat V` is the current there; beside `Bat B` it is a channel. */
export function parseHeader(cells: readonly string[]): HeaderCell[] {
  const parsed = cells.map(parseHeaderCell);
  const texts = new Set(parsed.map(({ text }) => text.toLowerCase()));
  return parsed.map((cell) => {
    const name = /^(.*[\s_-])A$/i.exec(cell.text)?.[1]?.toLowerCase();
    const isAmps = cell.unit === null && name !== undefined && texts.has(`${name}v`) && !texts.has(`${name}b`);
    return isAmps ? { ...cell, unit: parseUnit("A"), role: "value", named: "amps" } : cell;
  });
}

function roleOf(name: string, text: string, unit: Unit | null): HeaderRole {
  if (indexWords.test(name) && unit === null) return "index";
  if (unitWords.test(text)) return "unit";
  if (unit?.quantity === "seconds" && !lowestWords.test(text)) return "time";
  if ((unit === null || unit.quantity === "seconds") && namesTime(name) && !lowestWords.test(name)) return "time";
  if (spreadWords.test(name)) return "spread";
  if (lowestWords.test(name)) return "lowest";
  if (highestWords.test(name)) return "highest";
  return meanWords.test(name) ? "mean" : "value";
}

const namesTime = (name: string): boolean => timeWords.test(name) || dateOrderIn(name) !== null;

function namedBy(name: string): HeaderCell["named"] {
  if (namesTime(name)) return null;
  const plain = name.trim();
  if (voltWords.test(plain)) return "volts";
  if (ampWords.test(plain)) return /hour|stunde|(^|[^a-z])ah([^a-z]|$)/i.test(plain) ? "other" : "amps";
  return otherWords.test(plain) ? "other" : null;
}

function splitUnit(text: string): { name: string; unit: Unit | null } {
  // `mV2` is the second channel's.
  const whole = parseUnit(text) ?? parseUnit(/^([mµμu]?[VA])[ _#]?\d{1,2}$/.exec(text)?.[1] ?? "");
  if (whole !== null && !/^(min|c|f|h|k|d)$/i.test(text) && text !== "a") return { name: text, unit: whole };
  for (const match of [...text.matchAll(/[([{<]\s*([^)\]}>]*?)\s*[)\]}>]/g)].reverse()) {
    const unit = parseUnit(match[1] ?? "") ?? scaledUnit(match[1] ?? "");
    if (unit !== null) return { name: text.replace(match[0], " ").trim(), unit };
  }
  const cut = /^(.*?)(\s*[/,:;]\s*|[\s_.-]+(?:in[\s_]+)?)([^\s/,:;_.-]+(?:\s+[AaDd][Cc])?)$/s.exec(text);
  const unit = cut === null ? null : parseUnit(cut[3] ?? "");
  if (cut === null || unit === null || !believable(cut[1] ?? "", cut[2] ?? "", unit)) {
    // `DC V Avg`
    const inner = text.replace(/[\s_-]+(avg|average|mean|min|minimum|max|maximum)\.?$/i, "");
    const innerUnit = inner === text ? null : splitUnit(inner).unit;
    if (innerUnit !== null && innerUnit.quantity !== "seconds") return { name: text, unit: innerUnit };
    // `Voltage, V (S/N: 4711)`
    const bare = text.replace(/\s*\([^()]*\)$/, "");
    return bare === text || bare === "" ? splitCamel(text) : splitUnit(bare);
  }
  return { name: cut[1] ?? "", unit };
}

/** `batteryMillivolts`, `timeMs` */
function splitCamel(text: string): { name: string; unit: Unit | null } {
  const [, name = "", word = ""] = /^(.*\p{Ll})(\p{Lu}\p{L}+)$/su.exec(text) ?? [];
  const unit = parseUnit(word);
  return unit === null || !believable(name, "", unit) ? { name: text, unit: null } : { name, unit };
}

/** `x10 mV`, `0.01 V`: the numbers are counts of so much, which is no unit that is read. */
function scaledUnit(text: string): Unit | null {
  const unit = parseUnit(/^(?:[x×*]\s*\d+|0[.,]0*1)\s*(\S+)$/i.exec(text.trim())?.[1] ?? "");
  return unit === null ? null : { ...unit, text: text.trim(), quantity: "other" };
}

/** `Meter A` names a meter, `Voltage min` a minimum, `Probe 2 C` nothing certain; `Load A`, `t_min` and `U/V` are units. */
function believable(name: string, joint: string, unit: Unit): boolean {
  if (joint.includes("/")) return true;
  if (/^min$/i.test(unit.text)) return namesTime(name) || elapsedWords.test(name);
  if (/^[^v]$/i.test(unit.text) && channelWord.test(name.trim())) return false;
  if (unit.text.length === 1 && unit.quantity === "seconds") return namesTime(name) || /^t$/i.test(name.trim());
  return unit.quantity !== "other" || unit.text.length > 1 || otherWords.test(name);
}

/** `AC Voltage (V)`: the word may stand anywhere in the header. */
function withAlternating(unit: Unit | null, text: string): Unit | null {
  if (unit === null || unit.alternating || unit.quantity === "seconds") return unit;
  return /(^|[^a-z])AC([^a-z]|$)/i.test(text) && !/(^|[^a-z])DC([^a-z]|$)/i.test(text)
    ? { ...unit, alternating: true }
    : unit;
}
