//! `linkwright serve`.

use crate::args::ServeArgs;
use crate::complaint::Complaint;
use crate::machine::Machine;
use crate::rack::store_place;
use web::{Place, ServeError};

/// This machine, for as long as the program runs.
static MACHINE: Machine = Machine;

/// Serves the pages until the program is told to stop.
pub fn run(args: &ServeArgs, say: impl Fn(&str)) -> Result<(), Complaint> {
    let store = store_place(args.store.as_deref())?;
    let writer = args.writer.clone().or_else(|| std::env::var("LINKWRIGHT_WRITER").ok());
    let place = Place { store, writer, port: args.port };
    let ready = |address: &str| say(&format!("The pages are at {address}\nStop them with Ctrl-C.\n"));
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build();
    let runtime = runtime.map_err(|why| Complaint::plain(why.to_string(), None))?;
    runtime.block_on(web::serve(&place, &MACHINE, ready, web::asked_to_stop())).map_err(Complaint::from)
}

impl From<ServeError> for Complaint {
    fn from(error: ServeError) -> Self {
        match error {
            ServeError::Refused(refused) => refused.into(),
            ServeError::Network(why) => Self::plain(
                format!("the pages cannot be served: {why}"),
                Some("name another port with --port".to_owned()),
            ),
        }
    }
}
