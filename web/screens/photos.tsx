/** Photos of a round: from the camera or from files, scaled down and without place, each with a caption. */
import { useEffect, useState } from "preact/hooks";
import type { Round } from "../../analysis/index.ts";
import { openJob } from "../job/open-job.ts";
import { addPhotos, describePhoto, type Photo, photosOf, removePhoto } from "../job/repair-round.ts";
import { TextField } from "../pieces/fields.tsx";
import { FileButton } from "../pieces/file-button.tsx";
import { findLog } from "../storage/logs.ts";

export function Photos({ entry }: { entry: Round }) {
  const [troubles, setTroubles] = useState<readonly string[]>([]);
  const [working, setWorking] = useState(false);
  const photos = photosOf(entry);
  const take = async (files: File[]) => {
    setWorking(true);
    setTroubles(await addPhotos(entry.round, files));
    setWorking(false);
  };
  return (
    <section class="sheet" aria-labelledby="photos-heading">
      <h2 id="photos-heading">Photos of “{entry.round}”</h2>
      <p class="field-note">
        They are scaled down, and place, time and camera are taken out of them before they are kept.
      </p>
      <div class="actions">
        <FileButton words="Take a photo" accept="image/*" camera onFiles={(files) => void take(files)} />
        <FileButton words="Choose photos" accept="image/*" onFiles={(files) => void take(files)} />
      </div>
      <p role="status">{working ? "Scaling down …" : ""}</p>
      {troubles.map((trouble) => (
        <p key={trouble} class="notice notice-bad" role="alert">
          {trouble}
        </p>
      ))}
      <ul class="photos">
        {photos.map((photo, index) => (
          <li key={photo.file}>
            <PhotoEntry round={entry.round} photo={photo} number={index + 1} />
          </li>
        ))}
      </ul>
    </section>
  );
}

function PhotoEntry({ round, photo, number }: { round: string; photo: Photo; number: number }) {
  const address = usePhotoAddress(photo.file);
  return (
    <>
      {address === null ? (
        <p class="notice">{photo.file} is not in this browser.</p>
      ) : (
        <img src={address} alt={photo.caption || `Photo ${number}, without a caption`} />
      )}
      <TextField
        label={`Caption of photo ${number}`}
        value={photo.caption}
        onValue={(caption) => describePhoto(round, photo.file, caption)}
      />
      <button type="button" aria-label={`Delete photo ${number}`} onClick={() => removePhoto(round, photo.file)}>
        Delete
      </button>
    </>
  );
}

/** An address under which the page can show the photo; null where its bytes are not here; empty until they have come. */
function usePhotoAddress(file: string): string | null {
  const sha256 = openJob.value?.files[file]?.sha256;
  const [address, setAddress] = useState<string | null>("");
  useEffect(() => {
    let made: string | null = null;
    let current = true;
    void (sha256 === undefined ? Promise.resolve(undefined) : findLog(sha256)).then((blob) => {
      if (!current) return;
      made = blob ? URL.createObjectURL(blob) : null;
      setAddress(made);
    });
    return () => {
      current = false;
      if (made) URL.revokeObjectURL(made);
    };
  }, [sha256]);
  return address;
}
