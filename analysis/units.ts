/**
 * Number types named for their unit. They document; the suffix of a name (`dropVolts`) protects.
 * Inside the program one unit stands for each quantity; text is converted where it enters and where it is shown.
 */
export type Volts = number;
export type Amps = number;
export type Ohms = number;
export type Metres = number;
export type Seconds = number;
export type Celsius = number;
export type SquareMillimetres = number;

/** What a meter measured; `formats.md` names both in a recording. */
export type Quantity = "volts" | "amps";
