//! What is flashed: the reference board, pass after pass.
#![no_std]
#![no_main]

use core::panic::PanicInfo;

#[cfg(feature = "log")]
use defmt_rtt as _;
use hysteron_firmware::board::pico::{self, Pico, SerialLine};
use hysteron_firmware::pass::Pass;
use hysteron_firmware::static_storage::StaticStorage;

#[pico::entry]
fn main() -> ! {
    static mut STORAGE: StaticStorage<SerialLine> = StaticStorage::new();

    let Some(ports) = pico::ports() else {
        pico::stop();
    };
    let mut pass = Pass::<Pico>::at_power_up(STORAGE, ports);
    loop {
        pico::wait_for_pass();
        if pass.run().is_err() {
            pico::stop();
        }
    }
}

/// A panic releases the relay and leaves the rest to the watchdog.
#[panic_handler]
fn panic(_info: &PanicInfo<'_>) -> ! {
    pico::stop()
}
