// What rp2040js 1.4.1 gets wrong or leaves out, as far as this image meets it, put right;
// each mend says what it is for.
import { createRequire } from 'node:module';
import path from 'node:path';
import { CrystalClock } from './crystal.mjs';

const require = createRequire(import.meta.url);
const emulator = path.dirname(require.resolve('rp2040js'));
const { RPTimer } = require(path.join(emulator, 'peripherals/timer.js'));
const { RPWatchdog } = require(path.join(emulator, 'peripherals/watchdog.js'));
const { RPADC } = require(path.join(emulator, 'peripherals/adc.js'));
const { BasePeripheral } = require(path.join(emulator, 'peripherals/peripheral.js'));

const TIMER = 0x40054;
const WATCHDOG = 0x40058;
const CONVERTER = 0x4004c;
const RING_OSCILLATOR = 0x40060;
const RECEIVED_ON_LINE_0 = 21;

/** A register block with fixed answers. */
export class Answers extends BasePeripheral {
  constructor(mcu, name, answers) {
    super(mcu, name);
    this.answers = answers;
  }
  readUint32(offset) {
    return this.answers[offset] ?? 0;
  }
  writeUint32() {}
}

/** Puts right what `chip`, about to start, would have wrong in `mcu`. */
export function mend(chip, mcu, clock) {
  const core = mcu.core;
  // A handler must not be entered during WFI while PRIMASK is set: only take note
  // of the interrupt here; the run loop wakes the core.
  core.setInterrupt = (irq, raised) => {
    const bit = 1 << irq;
    if (!raised) core.pendingInterrupts &= ~bit;
    else if (!(core.pendingInterrupts & bit)) {
      core.pendingInterrupts |= bit;
      core.interruptsUpdated = true;
    }
  };
  // Short cuts for the two memories, four times faster.
  const { flash16, flashView, sramView } = mcu;
  core.readUint16 = (at) => (at >>> 24 === 0x10 ? flash16[(at & 0xffffff) >> 1] : mcu.readUint16(at));
  core.readUint32 = (at) => {
    if (at >>> 18 === 0x800 && !(at & 3)) return sramView.getUint32(at & 0x3ffff, true);
    if (at >>> 24 === 0x10 && !(at & 3)) return flashView.getUint32(at & 0xffffff, true);
    return mcu.readUint32(at);
  };
  core.writeUint32 = (at, value) => {
    if (at >>> 18 === 0x800 && !(at & 3)) sramView.setUint32(at & 0x3ffff, value, true);
    else mcu.writeUint32(at, value);
  };

  // Timer, watchdog and converter follow the crystal, which can stop.
  chip.crystal = new CrystalClock(clock, chip.firstMicros * 1000);
  chip.firstMicros = 0;
  mcu.clock = chip.crystal;
  const timer = new RPTimer(mcu, 'TIMER');
  const watchdog = new RPWatchdog(mcu, 'WATCHDOG');
  const converter = new RPADC(mcu, 'ADC');
  mcu.clock = clock;
  mcu.peripherals[TIMER] = timer;
  mcu.peripherals[WATCHDOG] = watchdog;
  mcu.peripherals[CONVERTER] = converter;
  mcu.adc = converter;
  chip.watchdog = watchdog;

  // Alarms come up to a microsecond early, as the fraction of the current one is dropped.
  const writeTimer = timer.writeUint32.bind(timer);
  timer.writeUint32 = (offset, value) => {
    writeTimer(offset, value);
    if (offset >= 0x10 && offset <= 0x1c) {
      const nanos = chip.crystal.nanos;
      const micros = Math.floor(nanos / 1000);
      const ahead = (value - (micros % 2 ** 32)) >>> 0;
      timer.alarms[(offset - 0x10) >> 2].clockAlarm.schedule(Math.max(0, ahead * 1000 - (nanos - micros * 1000)));
    }
  };

  // The serial line's receiver never asks the DMA controller to take a byte.
  const line = mcu.uart[0];
  const feedByte = line.feedByte.bind(line);
  line.feedByte = (byte) => {
    feedByte(byte);
    mcu.dma.setDREQ(RECEIVED_ON_LINE_0);
  };
  const readLine = line.readUint32.bind(line);
  line.readUint32 = (offset) => {
    const value = readLine(offset);
    if (line.rxFIFO.empty) mcu.dma.clearDREQ(RECEIVED_ON_LINE_0);
    return value;
  };

  // Two registers that are not modelled at all.
  mcu.peripherals[RING_OSCILLATOR] = new Answers(mcu, 'ROSC', { 0x18: 0x80001000 });
}
