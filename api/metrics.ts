/** Counting for Prometheus, in its text form 0.0.4 (format from memory): requests by path and status, time taken, diagnoses, memory. */
import type { MiddlewareHandler } from "hono";
import { routePath } from "hono/route";
import type { WorkerPool } from "./worker-pool/worker-pool.ts";

const bucketSeconds = [0.005, 0.02, 0.1, 0.5, 2, 10, 60];

export interface Metrics {
  readonly count: MiddlewareHandler;
  text(): string;
}

export function createMetrics(pool: WorkerPool): Metrics {
  const requests = new Map<string, number>();
  const buckets = bucketSeconds.map(() => 0);
  let total = 0;
  let seconds = 0;
  return {
    async count(c, next) {
      const began = performance.now();
      await next();
      const took = (performance.now() - began) / 1000;
      const labels = `method="${c.req.method}",path="${routePath(c, -1)}",status="${c.res.status}"`;
      requests.set(labels, (requests.get(labels) ?? 0) + 1);
      bucketSeconds.forEach((edge, index) => {
        if (took <= edge) buckets[index]!++;
      });
      total++;
      seconds += took;
    },
    text() {
      const { running, waiting, done, cancelled } = pool.load();
      const family = (name: string, kind: string, help: string, lines: readonly string[]) =>
        [`# HELP ${name} ${help}`, `# TYPE ${name} ${kind}`, ...lines].join("\n");
      const one = (name: string, kind: string, help: string, value: number) =>
        family(name, kind, help, [`${name} ${value}`]);
      return `${[
        family(
          "http_requests_total",
          "counter",
          "Requests answered.",
          [...requests].map(([labels, n]) => `http_requests_total{${labels}} ${n}`),
        ),
        family("http_request_seconds", "histogram", "Time to the answer's beginning.", [
          ...bucketSeconds.map((edge, index) => `http_request_seconds_bucket{le="${edge}"} ${buckets[index]}`),
          `http_request_seconds_bucket{le="+Inf"} ${total}`,
          `http_request_seconds_sum ${seconds}`,
          `http_request_seconds_count ${total}`,
        ]),
        one("diagnoses_running", "gauge", "Diagnoses in a worker now.", running),
        one("diagnoses_waiting", "gauge", "Diagnoses waiting for a worker.", waiting),
        one("diagnoses_total", "counter", "Diagnoses finished.", done),
        one("diagnoses_cancelled_total", "counter", "Diagnoses that nobody waited for.", cancelled),
        one("process_resident_memory_bytes", "gauge", "Memory of the process.", process.memoryUsage.rss()),
        one("process_uptime_seconds", "gauge", "Since the start.", Math.round(process.uptime())),
      ].join("\n")}\n`;
    },
  };
}
