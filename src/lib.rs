//! `wayproof` shows, before a vehicle is handed over, whether its warning lights do what the
//! published requirements and the authority having jurisdiction ask.
//!
//! One way through, and each step knows only those to its left:
//!
//! ```text
//! files --load--> documents --package, ruleset--> Package, Ruleset --measure, quantity--> Measured --judge--> Findings --report--> text
//! ```

#![forbid(unsafe_code)]
#![warn(missing_docs)]
// No input may make the tool panic: each of these needs a reason beside it (tests may fail loudly, see clippy.toml).
#![warn(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    clippy::cast_possible_wrap,
    clippy::todo,
    clippy::dbg_macro
)]

pub mod bid;
pub mod cli;
pub mod colour;
pub mod compare;
pub mod diagnostic;
pub mod electrical;
pub mod flash;
pub mod geometry;
pub mod import;
pub mod judge;
pub mod load;
pub mod logic;
pub mod measure;
pub mod package;
pub mod photometry;
pub mod quantity;
pub mod readings;
pub mod report;
pub mod ruleset;
pub mod schema;
pub mod sound;
pub mod units;
