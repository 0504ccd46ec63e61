//! `linkwright serve`.

use crate::args::ServeArgs;
use crate::complaint::Complaint;
use crate::machine::Machine;
use crate::rack::store_place;
use web::{Door, Place, ServeError};

/// This machine, for as long as the program runs.
static MACHINE: Machine = Machine;

/// Serves the pages until the program is told to stop.
pub fn run(args: &ServeArgs, say: impl Fn(&str)) -> Result<(), Complaint> {
    let store = store_place(args.store.as_deref())?;
    let writer = args.writer.clone().or_else(|| std::env::var("LINKWRIGHT_WRITER").ok());
    let place = Place {
        store,
        writer,
        listen: args.listen,
        port: args.port,
        names: args.name.clone(),
        tls: args.tls_cert.clone().zip(args.tls_key.clone()),
        door: match (args.accounts, args.shared_pass) {
            (true, _) => Door::Accounts,
            (false, true) => Door::SharedPass(std::env::var("LINKWRIGHT_PASS").ok()),
            (false, false) => Door::Open,
        },
    };
    let ready = |address: &str| say(&format!("The pages are at {address}\nStop them with Ctrl-C.\n"));
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build();
    let runtime = runtime.map_err(|why| Complaint::plain(why.to_string(), None))?;
    runtime.block_on(web::serve(&place, &MACHINE, ready, web::asked_to_stop())).map_err(Complaint::from)
}

impl From<ServeError> for Complaint {
    fn from(error: ServeError) -> Self {
        match error {
            ServeError::Refused(refused) => refused.into(),
            ServeError::Certificate(why) => Self::plain(
                format!("the certificate cannot be used: {why}"),
                Some("--tls-cert and --tls-key name files in PEM, the key not encrypted".to_owned()),
            ),
            ServeError::InTheClear => Self::plain(
                "beyond the loopback the pages are served over HTTPS alone".to_owned(),
                Some("name a certificate and its key with --tls-cert and --tls-key, or leave --listen out".to_owned()),
            ),
            ServeError::Open => Self::plain(
                "beyond the loopback nobody is let in without an account".to_owned(),
                Some(
                    "let people sign in with --accounts; or, where all who reach the pages are to write as one, say --shared-pass"
                        .to_owned(),
                ),
            ),
            ServeError::NoAccounts => Self::plain(
                "nobody has an account, so that nobody could sign in".to_owned(),
                Some("`linkwright people add NAME`, `people allow NAME keep --until DAY`, `account add NAME`".to_owned()),
            ),
            ServeError::ShortPass => Self::plain(
                "LINKWRIGHT_PASS can be guessed".to_owned(),
                Some("take 16 letters or more, or leave it out and one is made up".to_owned()),
            ),
            ServeError::Network(why) => Self::plain(
                format!("the pages cannot be served: {why}"),
                Some("name another port with --port".to_owned()),
            ),
        }
    }
}
