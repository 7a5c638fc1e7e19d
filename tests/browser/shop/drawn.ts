import { deflateSync } from "node:zlib";

/** A picture as PNG: stripes of brass on felt, so that a wrong side up is seen. */
export function picture(width: number, height: number): Buffer {
  const rows: Buffer[] = [];
  for (let y = 0; y < height; y += 1) {
    const row = Buffer.alloc(1 + width * 3);
    for (let x = 0; x < width; x += 1) {
      const isTube = y > height / 4 && y < (height * 3) / 4;
      const light = isTube ? 1 - Math.abs(y - height / 2) / (height / 2) : 0.4;
      const [red, green, blue] = isTube ? [214, 176, 92] : [60, 92, 80];
      row.set([red * light, green * light, blue * light].map(Math.round), 1 + x * 3);
    }
    rows.push(row);
  }
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width, 0);
  head.writeUInt32BE(height, 4);
  head.set([8, 2, 0, 0, 0], 8);
  return Buffer.concat([Buffer.from("\x89PNG\r\n\x1a\n", "latin1"), chunk("IHDR", head), chunk("IDAT", deflateSync(Buffer.concat(rows))), chunk("IEND", Buffer.alloc(0))]);
}

function chunk(kind: string, content: Buffer): Buffer {
  const body = Buffer.concat([Buffer.from(kind, "latin1"), content]);
  const frame = Buffer.alloc(8);
  frame.writeUInt32BE(content.length, 0);
  frame.writeUInt32BE(crc(body), 4);
  return Buffer.concat([frame.subarray(0, 4), body, frame.subarray(4)]);
}

/** The check sum of a chunk (W3C PNG, third edition, annex D). */
function crc(bytes: Buffer): number {
  let sum = 0xffffffff;
  for (const byte of bytes) {
    sum ^= byte;
    for (let bit = 0; bit < 8; bit += 1) sum = sum & 1 ? (sum >>> 1) ^ 0xedb88320 : sum >>> 1;
  }
  return (sum ^ 0xffffffff) >>> 0;
}
