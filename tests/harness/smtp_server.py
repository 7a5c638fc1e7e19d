"""A mail server that is not ours (aiosmtpd), for one test.

Usage: smtp_server.py FOLDER

Prints its port, then serves until its standard input ends. Each message that it takes is a
file FOLDER/new/NNNN.eml, exactly as it came, with the addresses of the envelope beside it in
NNNN.to. What it does with the next message is the word in FOLDER/mode:

  take    takes it (also when there is no such file)
  later   answers 450 and forgets it
  never   answers 550 and forgets it
  lost    takes it, and hangs up before it says so
  silent  takes it, and says nothing for an hour
  busy    answers 421 at the greeting and hangs up
"""

import asyncio
import pathlib
import sys

from aiosmtpd.smtp import SMTP


class Box:
    def __init__(self, folder):
        self.folder = folder
        self.count = 0

    def mode(self):
        try:
            return (self.folder / "mode").read_text().strip()
        except FileNotFoundError:
            return "take"

    async def handle_DATA(self, server, session, envelope):
        mode = self.mode()
        if mode == "later":
            return "450 4.2.0 Come back later"
        if mode == "never":
            return "550 5.1.1 Nobody lives here"
        self.count += 1
        name = f"{self.count:04}"
        (self.folder / "new" / f"{name}.to").write_text("\n".join(envelope.rcpt_tos))
        waiting = self.folder / "tmp" / name
        waiting.write_bytes(envelope.original_content)
        waiting.rename(self.folder / "new" / f"{name}.eml")
        if mode == "silent":
            await asyncio.sleep(3600)
        if mode == "lost":
            server.transport.abort()
        return "250 2.0.0 Taken"


class Server(SMTP):
    async def push(self, status):
        if self.event_handler.mode() == "busy":
            self.transport.write(b"421 4.3.2 Too busy\r\n")
            self.transport.close()
            return
        await super().push(status)


async def main():
    folder = pathlib.Path(sys.argv[1])
    for part in ("new", "tmp"):
        (folder / part).mkdir(parents=True, exist_ok=True)
    box = Box(folder)
    loop = asyncio.get_running_loop()
    server = await loop.create_server(lambda: Server(box, hostname="mail.example", loop=loop), "127.0.0.1", 0)
    print(server.sockets[0].getsockname()[1], flush=True)
    await loop.run_in_executor(None, sys.stdin.read)


asyncio.run(main())
