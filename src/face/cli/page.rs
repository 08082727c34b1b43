//! `heatset page`: the local page.

use super::output::{Output, announce};
use super::{CliError, Context};
use crate::face::page::{PageState, Shelf, Whom, serve};
use clap::Args;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, TcpListener};
use std::path::PathBuf;

/// Port where none is named.
const PORT: u16 = 8642;

/// The local page: heat, bench, charts and session in a browser on this machine
#[derive(Debug, Args)]
pub(super) struct Arguments {
    /// Calibrations that the page opens with, beside the invented one
    #[arg(value_name = "CAL")]
    calibrations: Vec<PathBuf>,
    /// Port on this machine; 0 takes a free one
    #[arg(long, default_value_t = PORT, value_name = "N")]
    port: u16,
    /// Log of batches that the page reads and adds to
    #[arg(long, value_name = "FILE.db")]
    log: Option<PathBuf>,
    /// Address to listen on, in place of this machine alone (127.0.0.1)
    #[arg(long, value_name = "ADDRESS", default_value_t = IpAddr::V4(Ipv4Addr::LOCALHOST))]
    address: IpAddr,
    /// Needed beside an address that others reach: the page asks nobody who they are, and whoever
    /// reaches it reads and changes everything on it, in clear text
    #[arg(long)]
    anyone_on_this_network_may_read_and_change_it: bool,
}

impl Arguments {
    pub(super) fn run(self, context: Context) -> Result<Output, CliError> {
        if !self.address.is_loopback() && !self.anyone_on_this_network_may_read_and_change_it {
            return Err(CliError::question(format!(
                "{} can be reached from other machines. The page asks nobody who they are: anyone on that network could read and change everything on it.\nWhat helps: leave --address out, and the page is for this machine alone; or, where that is meant, add --anyone-on-this-network-may-read-and-change-it",
                self.address
            )));
        }
        if self.address.is_unspecified() {
            return Err(CliError::question(format!(
                "{} is every address of this machine, and the page must know its own name to keep foreign sites out.\nWhat helps: name the one address that others will open",
                self.address
            )));
        }
        let named = self
            .calibrations
            .iter()
            .map(|path| {
                let name = path.file_name().map_or_else(
                    || path.display().to_string(),
                    |name| name.to_string_lossy().into_owned(),
                );
                std::fs::read_to_string(path)
                    .map(|document| (name.clone(), document))
                    .map_err(|error| CliError::question(format!("{name} cannot be read: {error}")))
            })
            .collect::<Result<Vec<_>, _>>()?;
        let shelf = Shelf::new(&named, context.seed)?;
        let asked = SocketAddr::new(self.address, self.port);
        let listener = TcpListener::bind(asked).map_err(|error| {
            CliError::question(format!(
                "The page cannot listen on {asked}: {error}\nWhat helps: another port, --port {} or --port 0 for a free one",
                self.port.saturating_add(1)
            ))
        })?;
        let address = listener
            .local_addr()
            .map_err(|error| CliError::question(error.to_string()))?;
        announce(&format!("The page is at http://{address}/ until Ctrl-C"));
        let state = PageState::new(shelf, Whom::at(address), self.log, context.seed);
        serve(listener, state)
            .map_err(|error| CliError::question(format!("The page ended: {error}")))?;
        Ok(Output::words("The page has ended."))
    }
}
