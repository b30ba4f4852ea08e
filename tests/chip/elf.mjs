// What the harness needs of a 32-bit little-endian ELF file.
import fs from 'node:fs';

const LOADED = 1;
const SYMBOLS = 2;
const ZEROED = 8;
const ALLOCATED = 2;

/** Segments to load (`[address, bytes]`), sections in memory (`{name, address, size, zeroed}`), symbols by name. */
export function loadElf(file) {
  const bytes = fs.readFileSync(file);
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.length);
  const u32 = (at) => view.getUint32(at, true);
  const u16 = (at) => view.getUint16(at, true);
  const text = (at) => bytes.toString('latin1', at, bytes.indexOf(0, at));

  const segments = [];
  for (let i = 0; i < u16(44); i++) {
    const at = u32(28) + i * u16(42);
    const [type, offset, , physical, size] = [0, 4, 8, 12, 16].map((field) => u32(at + field));
    if (type === LOADED && size > 0) segments.push([physical, bytes.subarray(offset, offset + size)]);
  }

  const headers = [];
  for (let i = 0; i < u16(48); i++) {
    const at = u32(32) + i * u16(46);
    const [name, type, flags, address, offset, size, link] = [0, 4, 8, 12, 16, 20, 24].map((field) => u32(at + field));
    headers.push({ name, type, flags, address, offset, size, link });
  }
  const names = headers[u16(50)].offset;
  const sections = headers
    .filter((header) => header.flags & ALLOCATED && header.size > 0)
    .map((header) => ({
      name: text(names + header.name),
      address: header.address,
      size: header.size,
      zeroed: header.type === ZEROED,
    }));

  const symbols = new Map();
  for (const header of headers.filter((h) => h.type === SYMBOLS)) {
    const strings = headers[header.link].offset;
    for (let at = header.offset; at < header.offset + header.size; at += 16) {
      const name = text(strings + u32(at));
      if (name && !name.startsWith('$')) symbols.set(name, u32(at + 4));
    }
  }
  return { segments, sections, symbols };
}

/** The address of the symbol whose name contains `part`; functions without their Thumb bit. */
export function addressOf(elf, part) {
  const exact = elf.symbols.get(part);
  if (exact !== undefined) return exact & ~1;
  const found = [...elf.symbols].filter(([name]) => name.includes(part));
  if (found.length === 0) throw new Error(`the image has no symbol with '${part}' in its name`);
  if (new Set(found.map(([, address]) => address)).size > 1) {
    throw new Error(`'${part}' is not one symbol but ${found.map(([name]) => name).join(', ')}`);
  }
  return found[0][1] & ~1;
}
