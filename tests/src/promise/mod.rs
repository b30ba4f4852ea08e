//! The promises of the control, watched from outside.
//!
//! A [`world::World`] carries a real control through happenings: readings,
//! commands, clock faults, losses of power. An [`observer::Observer`] sees only
//! the true time, what went in and what was decided. It measures every hold
//! against the true time with rules written from the promises, and it counts
//! which situations were reached, so that no promise is kept for want of a trial.
//! What the space must be taken for, what it calls for, and what must lock out it
//! works out by itself from the raw samples ([`double_reading`], [`belief`]).
//!
//! | promise | in one line |
//! | --- | --- |
//! | P1 | once open, open for the minimum off-time |
//! | P2 | after power-up, open for the minimum off-time and the stagger |
//! | P3 | once closed, closed for the minimum on-time, overriding reasons aside |
//! | P4 | starts in any sliding hour within the limit |
//! | P5 | a probe fault is declared in time, withdrawn in time, and the fallback followed |
//! | P6 | a probe fault never keeps heat on without end |
//! | P7 | locked out is open until the reset |
//! | P8 | behind the settings lock no command does anything |
//! | P9 | a steady call closes the relay once the holds have run |
//! | P10 | deterministic, total, mirror-symmetric |
//! | P11 | no clock fault shortens a hold |
//! | P12 | a change of mode opens the relay, any other change is judged at once, off is off |
//! | P13 | a load that loses its voltage rests before it starts again |
//! | P14 | extra steps change nothing |

pub mod belief;
mod belief_case;
pub mod believed;
pub mod double_reading;
pub mod drafts;
pub mod happening;
pub mod holds;
pub mod letters;
pub mod load_watch;
pub mod observer;
pub mod orders;
pub mod probe_watch;
pub mod run;
pub mod state_walk;
pub mod tally;
pub mod world;
