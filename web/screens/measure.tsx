export function MeasureScreen() {
  return <h1>Measure</h1>;
}
