import { type ChildProcess, spawn } from "node:child_process";
import { chmod, mkdtemp, rm, writeFile } from "node:fs/promises";
import { createServer } from "node:net";
import { homedir, tmpdir } from "node:os";
import { join } from "node:path";

const START_MS = 60_000;
const STOP_MS = 15_000;

/** Where cargo puts the server, as deploy/provide.sh says it. */
function binary(): string {
  const cache = join(process.env["XDG_CACHE_HOME"] ?? join(homedir(), ".cache"), "bellbrace");
  return process.env["BELLBRACE_BIN"] ?? join(process.env["CARGO_TARGET_DIR"] ?? join(cache, "target"), "debug/bellbrace");
}

/** A setting that somebody exported for their own server must not reach this one. */
function withoutSettings(of: NodeJS.ProcessEnv): NodeJS.ProcessEnv {
  return Object.fromEntries(Object.entries(of).filter(([name]) => !name.startsWith("BELLBRACE_") && !name.startsWith("DATABASE_")));
}

async function freePort(): Promise<number> {
  const server = createServer();
  await new Promise<void>((listening) => server.listen(0, "127.0.0.1", listening));
  const address = server.address();
  await new Promise((closed) => server.close(closed));
  if (address === null || typeof address === "string") throw new Error("no port was free");
  return address.port;
}

/**
 * The real server with a PostgreSQL of its own, in a new data folder that goes with it. Its clock
 * is the machine's, moved: shops keep hours, tests run whenever they are run.
 */
export class Server {
  /** What it printed: the one-time link of a new shop stands there. */
  printed = "";

  private constructor(
    readonly url: string,
    readonly data: string,
    private readonly process: ChildProcess,
  ) {}

  /** `moved` is how far its clock is ahead of the machine's, in seconds. */
  static async start(moved: number): Promise<Server> {
    const data = await mkdtemp(join(tmpdir(), "bellbrace-browser-"));
    // PostgreSQL refuses to run as root, so as root it is another account that has to get in.
    await chmod(data, 0o755);
    await writeFile(join(data, "test-clock"), String(moved));
    const port = await freePort();
    const url = `http://127.0.0.1:${port}`;
    const child = spawn(binary(), ["serve", "--data", data, "--port", String(port)], {
      env: { ...withoutSettings(process.env), BELLBRACE_PUBLIC_URL: url, BELLBRACE_TEST_CLOCK: "1", BELLBRACE_LOG_LEVEL: "warn" },
      stdio: ["ignore", "pipe", "pipe"],
    });
    const server = new Server(url, data, child);
    for (const stream of [child.stdout, child.stderr]) {
      stream?.setEncoding("utf8");
      stream?.on("data", (text: string) => { server.printed += text; });
    }
    try {
      await server.until("it serves", START_MS, () => server.printed.includes("Bellbrace is open"));
    } catch (fault) {
      await server.stop();
      throw fault;
    }
    return server;
  }

  /** Moves the clock to so many seconds ahead of the machine's. */
  async moveClock(seconds: number): Promise<void> {
    await writeFile(join(this.data, "test-clock"), String(seconds));
  }

  /** The link that was printed because nobody works here yet. */
  get firstLink(): string {
    const link = /http\S+\/start\/\S+/.exec(this.printed)?.[0];
    if (link === undefined) throw new Error(`no first link was printed:\n${this.printed}`);
    return link;
  }

  async stop(): Promise<void> {
    if (this.process.exitCode === null && this.process.signalCode === null) {
      const ended = new Promise((end) => this.process.once("exit", end));
      this.process.kill("SIGTERM");
      const late = setTimeout(() => this.process.kill("SIGKILL"), STOP_MS);
      await ended;
      clearTimeout(late);
    }
    await rm(this.data, { recursive: true, force: true, maxRetries: 20, retryDelay: 100 });
  }

  private async until(what: string, within: number, holds: () => boolean): Promise<void> {
    const began = Date.now();
    while (!holds()) {
      if (this.process.exitCode !== null) throw new Error(`the server ended before ${what}:\n${this.printed}`);
      if (Date.now() - began > within) throw new Error(`never: ${what}\n${this.printed}`);
      await new Promise((later) => setTimeout(later, 20));
    }
  }
}
