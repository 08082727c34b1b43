//! The faces: words, pictures and units as people write them.

pub mod cautions;
pub mod cli;
pub mod report;
