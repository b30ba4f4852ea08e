// What a processor refuses and the emulator lets pass. A sound image does none of it, and it
// ends a test; after a flipped bit it is what the chip itself must answer, with a hard fault.
// Peripherals take whatever they are told, and the boot ROM is empty.

/** The processor cannot do what it was told. */
export class ProcessorFault extends Error {}

const FLASH = 0x10000000;
const RAM = 0x20000000;
const PERIPHERALS = 0x40000000;

/** Makes `mcu` refuse from now on what the real one refuses. Slower. */
export function makeStrict(mcu, imageEnd) {
  const core = mcu.core;
  const refuse = (what) => {
    throw new ProcessorFault(`${what}, at ${core.PC.toString(16)}`);
  };
  const inStep = (at, size) => at % size === 0 || refuse(`${at.toString(16)} is out of step`);

  // Addresses and instructions that do not exist.
  const complain = (where, what) => {
    if (where === 'RP2040' || where === 'CortexM0Core') refuse(what);
  };
  mcu.logger = { debug() {}, info() {}, warn: complain, error: complain };
  mcu.onBreak = () => refuse('an instruction that breaks');

  // Flash that was never written is no instruction, and takes no stray writes.
  mcu.flash.fill(0xff, imageEnd - FLASH);
  for (const [name, size] of [['writeUint32', 4], ['writeUint16', 2], ['writeUint8', 1]]) {
    const write = core[name].bind(core);
    core[name] = (at, value) => {
      inStep(at >>> 0, size);
      if (at >>> 0 >= RAM) write(at, value);
    };
  }
  const read32 = core.readUint32.bind(core);
  core.readUint32 = (at) => inStep(at >>> 0, 4) && read32(at);
  const read16 = core.readUint16.bind(core);
  core.readUint16 = (at) => {
    inStep(at >>> 0, 2);
    if (at >>> 0 >= PERIPHERALS && at === core.PC) refuse('nothing to run here');
    return read16(at);
  };
  const branch = core.BXWritePC.bind(core);
  core.BXWritePC = (to) => {
    if (!(to & 1)) refuse('a branch out of the only state there is');
    branch(to);
  };
}
