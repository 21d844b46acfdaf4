export function TracesScreen() {
  return <h1>Traces</h1>;
}
