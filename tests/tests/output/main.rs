//! What is written of a run: reports, their drawings, and files for other programs.

mod events_told;
mod exports;
mod report_drawings;
mod report_page;
