export function FindScreen() {
  return <h1>Find</h1>;
}
