/** Leave a record: what is on it, seen before it is printed, saved or handed on. */
import { RecordCard } from "./record-card.tsx";

export function RecordScreen() {
  return (
    <>
      <h1>Record</h1>
      <RecordCard />
    </>
  );
}
