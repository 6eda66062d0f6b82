//! `wayproof` shows, before a vehicle is handed over, whether its warning lights do what the
//! published requirements and the authority having jurisdiction ask.

pub mod flash;
pub mod units;
