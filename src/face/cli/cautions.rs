//! `heatset cautions`: the full text.

use super::output::Output;
use super::{CliError, Context};
use crate::face::cautions;
use clap::Args;
use serde::Serialize;

/// No arguments.
#[derive(Debug, Args)]
pub(super) struct Arguments {}

#[derive(Serialize)]
struct Document {
    cautions: Vec<Entry>,
}

#[derive(Serialize)]
struct Entry {
    about: &'static str,
    text: &'static str,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        if context.json {
            let cautions = cautions::ALL
                .iter()
                .map(|c| Entry {
                    about: c.about,
                    text: c.text,
                })
                .collect();
            return Output::json(&Document { cautions });
        }
        Ok(Output::words(cautions::full_text()))
    }
}
