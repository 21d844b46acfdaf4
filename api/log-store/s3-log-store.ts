/**
 * Logs in an S3-compatible object store, under `logs/` and their hash. They pass through a file here first, so that
 * nothing is sent that does not match its hash, and the store checks the hash once more.
 */
import { createReadStream } from "node:fs";
import { rm } from "node:fs/promises";
import { setTimeout } from "node:timers/promises";
import type { S3Client } from "@aws-sdk/client-s3";
import { storeTrouble } from "../store/store-trouble.ts";
import { checkedPieces } from "./checked-pieces.ts";
import type { LogStore } from "./log-store.ts";
import { openSpool, spool } from "./spool.ts";

export interface S3Place {
  /** as `https://objects.shop.lan:9000` */
  readonly endpoint: string;
  readonly bucket: string;
  readonly region: string;
}

const prefix = "logs/";
const attempts = 4;

/** Keys come from where the AWS client looks for them: AWS_ACCESS_KEY_ID and AWS_SECRET_ACCESS_KEY, or its files. */
export async function s3LogStore({ endpoint, bucket, region }: S3Place, spoolFolder: string): Promise<LogStore> {
  // loaded only where it is used: it takes longer to load than everything else together
  const s3 = await import("@aws-sdk/client-s3");
  const client: S3Client = new s3.S3Client({ endpoint, region, forcePathStyle: true, maxAttempts: attempts });
  await openSpool(spoolFolder);
  const at = (sha256: string) => ({ Bucket: bucket, Key: `${prefix}${sha256}` });

  return {
    async keep(sha256, pieces) {
      const { path, bytes } = await spool(spoolFolder, sha256, pieces);
      const checksum = Buffer.from(sha256, "hex").toString("base64");
      try {
        await patiently(() => {
          const body = { Body: createReadStream(path), ContentLength: bytes, ChecksumSHA256: checksum };
          return client.send(new s3.PutObjectCommand({ ...at(sha256), ...body }));
        });
      } finally {
        await rm(path, { force: true });
      }
      return bytes;
    },

    async read(sha256) {
      try {
        const { Body, ContentLength = 0 } = await client.send(new s3.GetObjectCommand(at(sha256)));
        const pieces = Body as unknown as AsyncIterable<Uint8Array>;
        return { bytes: ContentLength, pieces: checkedPieces(sha256, ContentLength, pieces) };
      } catch (error) {
        if (error instanceof s3.NoSuchKey) return null;
        throw error;
      }
    },

    async *all() {
      for (let from: string | undefined; ; ) {
        const page = await client.send(
          new s3.ListObjectsV2Command({ Bucket: bucket, Prefix: prefix, ContinuationToken: from }),
        );
        for (const { Key } of page.Contents ?? []) if (Key) yield Key.slice(prefix.length);
        if (!page.IsTruncated) return;
        from = page.NextContinuationToken;
      }
    },

    async answers() {
      await client.send(new s3.HeadBucketCommand({ Bucket: bucket }));
    },
  };
}

/** The client does not send a stream twice by itself; a file can be read again. */
async function patiently(send: () => Promise<unknown>): Promise<void> {
  for (let turn = 1; ; turn++) {
    try {
      await send();
      return;
    } catch (error) {
      const { httpStatusCode = 0 } = (error as { $metadata?: { httpStatusCode?: number } }).$metadata ?? {};
      const passing = httpStatusCode >= 500 || httpStatusCode === 429 || storeTrouble(error) === "away";
      if (!passing || turn >= attempts) throw error;
      await setTimeout(100 * 2 ** turn);
    }
  }
}
