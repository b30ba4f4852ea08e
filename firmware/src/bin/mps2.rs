//! The second board: a Cortex-M4 with scripted ports, run in QEMU over the
//! control's test vectors.
//!
//! The vectors were made by the control on a 64-bit host; this processor must
//! agree pass by pass. Its exit code tells.
#![no_std]
#![no_main]

use core::panic::PanicInfo;

use cortex_m_semihosting::debug::{self, EXIT_FAILURE, EXIT_SUCCESS};
use cortex_m_semihosting::hprintln;
use hysteron_firmware::board::scripted::{Bench, Nothing, Scripted};
use hysteron_firmware::pass::Pass;
use hysteron_firmware::static_storage::StaticStorage;
use hysteron_firmware::store::{SLOTS, record};
use hysteron_logic::codec::settings_to_bytes;
use hysteron_logic::guard::Relay;
use hysteron_logic::settings::Settings;

/// What is read for how many passes, and what must stand at their end.
const VECTORS: &str = include_str!("../../../tests/data/chip/vectors.csv");

#[cortex_m_rt::entry]
fn main() -> ! {
    static mut BENCH: Bench = Bench::new();
    static mut STORAGE: StaticStorage<Nothing> = StaticStorage::new();

    let bench: &Bench = BENCH;
    bench.load(SLOTS[0], &record(1, &settings_to_bytes(&Settings::DEFAULT)));
    let mut pass = Pass::<Scripted<'_>>::at_power_up(STORAGE, bench.ports());
    let (mut vectors, mut closings) = (0, 0);
    for line in VECTORS
        .lines()
        .filter(|line| !line.starts_with('#'))
        .skip(1)
    {
        let mut fields = line.split(',');
        let mut field = || fields.next().expect("five fields in a line");
        let passes: u32 = field().parse().expect("passes");
        bench.sum.set(field().parse().expect("a sum"));
        let (relay, reason, moves) = (field(), field(), field());
        let moves: u32 = moves.parse().expect("moves");
        let mut moved = 0;
        let mut last = None;
        for _ in 0..passes {
            bench.await_pass();
            let driven = bench.relay_driven.get();
            last = pass.run().ok();
            moved += u32::from(bench.relay_driven.get() != driven);
        }
        let last = last.expect("a pass that was done");
        let stands = match last.relay {
            Relay::Open => "open",
            Relay::Closed => "closed",
        };
        assert_eq!(
            (stands, last.reason.text(), moved),
            (relay, reason, moves),
            "{line}"
        );
        vectors += 1;
        closings += u32::from(last.relay == Relay::Closed);
    }
    assert!(
        vectors > 100 && closings > 10,
        "{vectors} vectors, closed at the end of {closings}"
    );
    hprintln!(
        "{} vectors agree, closed at the end of {}",
        vectors,
        closings
    );
    debug::exit(EXIT_SUCCESS);
    loop {
        cortex_m::asm::wfi();
    }
}

#[panic_handler]
fn panic(info: &PanicInfo<'_>) -> ! {
    hprintln!("{}", info);
    debug::exit(EXIT_FAILURE);
    loop {
        cortex_m::asm::wfi();
    }
}
