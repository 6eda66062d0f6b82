//! `wayproof` shows, before a vehicle is handed over, whether its warning lights do what the
//! published requirements and the authority having jurisdiction ask.
//!
//! One way through, and each step knows only those to its left:
//!
//! ```text
//! files --load--> documents --package, ruleset--> Package, Ruleset --measure, quantity--> Measured --judge--> Findings --report--> text
//! ```

pub mod cli;
pub mod diagnostic;
pub mod flash;
pub mod geometry;
pub mod judge;
pub mod load;
pub mod measure;
pub mod package;
pub mod photometry;
pub mod quantity;
pub mod report;
pub mod ruleset;
pub mod units;
