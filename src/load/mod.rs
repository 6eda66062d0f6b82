//! Bytes to documents: what stands in the user's files, with places, but without meaning yet.
//!
//! Names are not bound here (that is [`crate::package`] and [`crate::ruleset`]); units are typed here, because
//! a wrong unit is a mistake of the line it stands on.

pub mod distinct;
pub mod figure;
pub mod files;
pub mod reader;
mod syntax;
pub mod text;
