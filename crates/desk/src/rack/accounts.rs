//! Accounts: who may come in to the pages by a password, and what they may do there by the rights that the log gives them.

use super::{Answer, Fault, Rack, Refused, Result, View};
use crate::columns::columns;
use crate::{password, texts};
use async_recursion::async_recursion as boxed;
use jiff::Timestamp;
use register::group::{KEEP, RIGHTS};
use register::id::PersonId;
use register::private::hex;
use register::store::RunOut;
use serde_json::json;
use sha2::{Digest, Sha256};
use trade::gear::Gear;

const HOUR_MS: i64 = 3_600_000;
/// How long a sign-in lasts that is not used: a long weekend at the cliff.
const IDLE_MS: i64 = 4 * 24 * HOUR_MS;
/// How long a sign-in lasts at the most, in milliseconds (NIST SP 800-63B-4, section 2.1.3: thirty days at its first level).
pub const LONGEST_MS: i64 = 30 * 24 * HOUR_MS;
/// How often it is written down that a sign-in is used: not with each page.
const SEEN_MS: i64 = HOUR_MS / 6;

/// Somebody who is signed in.
pub struct Visitor<'o> {
    /// The rack on which they write.
    pub rack: Rack<'o>,
    /// Who they are, as the log names them.
    pub person: PersonId,
    /// What they are called.
    pub name: String,
    /// Whether they may write into the log.
    pub may_log: bool,
    /// Whether they keep the rack: its pieces, kits, people and policy.
    pub keeps: bool,
}

/// What is kept of the secret that a browser holds.
fn key(secret: &str) -> String {
    hex(&Sha256::digest(format!("sign-in {secret}")))
}

impl<'o> Rack<'o> {
    /// Gives somebody who is known an account.
    ///
    /// # Errors
    /// Where nobody of that name is known, they have one, or the password will not do.
    #[boxed]
    pub async fn add_account(&self, name: &str, password: &str) -> Result {
        let (person, kept) = self.new_password(name, password).await?;
        if !self.store.open_account(&person, &kept, self.outside.now_ms()).await? {
            return Err(Fault::new("has-account", &[("name", name.to_owned())]).into());
        }
        Ok(about("account-added", name, &person))
    }

    /// Gives an account another password; its sign-ins end.
    ///
    /// # Errors
    /// Where there is none, or the password will not do.
    #[boxed]
    pub async fn reset_password(&self, name: &str, password: &str) -> Result {
        let (person, kept) = self.new_password(name, password).await?;
        if !self.store.set_password(&person, &kept, None).await? {
            return Err(no_account(name));
        }
        Ok(about("password-set", name, &person))
    }

    /// Takes an account away; its sign-ins end. The person stays known.
    ///
    /// # Errors
    /// Where there is none.
    #[boxed]
    pub async fn remove_account(&self, name: &str) -> Result {
        let person = self.view().await?.somebody(name)?;
        if !self.store.close_account(&person).await? {
            return Err(no_account(name));
        }
        Ok(about("account-removed", name, &person))
    }

    /// Ends every sign-in of a person.
    ///
    /// # Errors
    /// Where nobody of that name is known.
    #[boxed]
    pub async fn end_sign_ins(&self, name: &str) -> Result {
        let person = self.view().await?.somebody(name)?;
        let ended = self.store.end_sign_ins(&person).await?;
        let values = [("name", name.to_owned()), ("count", ended.to_string())];
        Ok(Answer::new(texts::rack("sign-ins-ended", &values) + "\n", json!({ "person": person, "ended": ended })))
    }

    /// Every account: whose, what they may do, since when, how many sign-ins there are and when one was used last.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn accounts(&self) -> Result {
        let view = self.view().await?;
        let (mut rows, mut json) = (Vec::new(), Vec::new());
        for account in self.store.accounts(self.run_out()).await? {
            let name = view.name(&account.person);
            let rights = view.rights(&account.person);
            let seen = account.seen_ms.map_or_else(String::new, day_of);
            rows.push(vec![
                name.clone(),
                rights.join(", "),
                day_of(account.made_ms),
                account.sign_ins.to_string(),
                seen,
            ]);
            json.push(json!({
                "person": account.person,
                "name": name,
                "rights": rights,
                "made_ms": account.made_ms,
                "sign_ins": account.sign_ins,
                "seen_ms": account.seen_ms,
            }));
        }
        rows.sort_unstable();
        let heading =
            ["who", "may", "since", "sign-ins", "seen"].map(|code| texts::rack(&format!("column-{code}"), &[]));
        let text = if rows.is_empty() {
            texts::rack("no-accounts", &[]) + "\n"
        } else {
            columns(&[vec![heading.to_vec()], rows].concat())
        };
        Ok(Answer::new(text, json!({ "accounts": json })))
    }

    /// Whether anybody could sign in.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn has_accounts(&self) -> Result<bool> {
        Ok(!self.store.accounts(self.run_out()).await?.is_empty())
    }

    /// Signs somebody in: gives the secret that their browser is to show from then on, of 256 bits, of which only a hash is kept. `None` where
    /// name and password do not belong together, which takes the same time whatever is wrong with them.
    ///
    /// # Errors
    /// Where the store cannot be read or written to.
    #[boxed]
    pub async fn sign_in(&self, name: &str, password: &str) -> Result<Option<String>> {
        // Nobody has an account under a name that is empty.
        let person = self.view().await?.somebody(name).unwrap_or_else(|_| PersonId(String::new()));
        let kept = self.store.password(&person).await?;
        let is_it = password::is_it(password, kept.clone()).await;
        let Some(kept) = kept.filter(|_| is_it) else { return Ok(None) };
        let secret = hex(&[self.outside.random(), self.outside.random()].concat());
        let now = self.outside.now_ms();
        let is_in = self.store.begin_sign_in(&key(&secret), &person, &kept, now, self.run_out()).await?;
        Ok(is_in.then_some(secret))
    }

    /// Who shows a secret, where their sign-in has not ended or run out.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn visitor(&self, secret: &str) -> Result<Option<Visitor<'o>>> {
        let key = key(secret);
        let now = self.now();
        let found = self.store.sign_in(&key).await?.filter(|found| !found.is_out(self.run_out()));
        let Some(found) = found else { return Ok(None) };
        if now.ms - found.seen_ms > SEEN_MS {
            // Where it cannot be written down, the sign-in runs out the earlier, and the page is shown all the same.
            let _ = self.store.saw_sign_in(&key, now.ms).await;
        }
        let (group, names) = (self.store.group().await?, self.names().await?);
        let Some(name) = names.get(&found.person).cloned() else { return Ok(None) };
        Ok(Some(Visitor {
            may_log: group.has_right(&found.person, "log", None, now.on),
            keeps: group.was_given(&found.person, KEEP, None, now.on),
            rack: self.by(found.person.clone()),
            person: found.person,
            name,
        }))
    }

    /// Ends the sign-in that a secret is of.
    ///
    /// # Errors
    /// Where the store cannot be written to.
    #[boxed]
    pub async fn sign_out(&self, secret: &str) -> Result<()> {
        Ok(self.store.end_sign_in(&key(secret)).await?)
    }

    /// Changes the password of who writes on this rack, who has to know the old one; their other sign-ins end.
    ///
    /// # Errors
    /// Where the old one is another, or the new one will not do.
    #[boxed]
    pub async fn change_password(&self, old: &str, new: &str, secret: &str) -> Result<()> {
        let name = self.view().await?.name(&self.writer);
        let kept = self.store.password(&self.writer).await?;
        if !password::is_it(old, kept).await {
            return Err(Fault::new("other-password", &[]).into());
        }
        let (person, kept) = self.new_password(&name, new).await?;
        if !self.store.set_password(&person, &kept, Some(&key(secret))).await? {
            return Err(no_account(&name));
        }
        Ok(())
    }

    /// What who writes on this rack may do, as the log gives it.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn my_rights(&self) -> Result<Vec<String>> {
        Ok(self.view().await?.rights(&self.writer))
    }

    /// Who may do something, as they are called.
    ///
    /// # Errors
    /// Where the store cannot be read.
    #[boxed]
    pub async fn who_may(&self, right: &str) -> Result<String> {
        Ok(self.view().await?.who_may(right, None))
    }

    /// Whether an entry is a slip that who writes here may take back without keeping the rack: their own, and of what happened to pieces.
    ///
    /// # Errors
    /// Where there is no such entry.
    #[boxed]
    pub async fn is_own_slip(&self, entry: i64) -> Result<bool> {
        let past = self.past(entry).await?;
        Ok(past.writer == self.writer && !past.record.about.is_empty())
    }

    /// The person, and what is to be kept of their new password.
    async fn new_password(&self, name: &str, password: &str) -> Result<(PersonId, String)> {
        let person = self.view().await?.somebody(name)?;
        if !password::is_fit(password, name) {
            return Err(Fault::new("weak-password", &[("least", password::SHORTEST.to_string())]).into());
        }
        Ok((person, password::kept(password, self.outside.random()).await))
    }

    fn run_out(&self) -> RunOut {
        let now = self.outside.now_ms();
        RunOut { begun_before_ms: now - LONGEST_MS, unseen_since_ms: now - IDLE_MS }
    }
}

impl View {
    /// The person with a name; nobody is the owner.
    fn somebody(&self, name: &str) -> std::result::Result<PersonId, Fault> {
        let found = self.names.iter().find(|(_, known)| known.as_str() == name.trim());
        let person = found.map(|(person, _)| person.clone());
        person.ok_or_else(|| Fault::new("no-such-person", &[("name", name.to_owned())]))
    }

    /// What a person may do today on the pages, where signing takes writing into the log, and setting the policy keeping the rack.
    fn rights(&self, person: &PersonId) -> Vec<String> {
        let may = |right: &str| self.may(person, right, None);
        let leads = |right: &str| match right {
            "inspect" | "withdraw" => may("log"),
            "policy" => may(KEEP),
            _ => true,
        };
        let all = RIGHTS.into_iter().filter(|right| leads(right));
        all.flat_map(|right| if may(right) { vec![right.to_owned()] } else { self.kinds_of(person, right) }).collect()
    }

    /// A right that a person has for some kinds of gear alone: `inspect:rope`.
    fn kinds_of(&self, person: &PersonId, right: &str) -> Vec<String> {
        let kinds = Gear::ALL.iter().map(|gear| gear.code()).filter(|kind| self.may(person, right, Some(kind)));
        kinds.map(|kind| format!("{right}:{kind}")).collect()
    }

    /// Whether a person may do something today. Nobody keeps the rack whom it was not given to.
    pub(super) fn may(&self, person: &PersonId, right: &str, gear: Option<&str>) -> bool {
        if right == KEEP {
            return self.group.was_given(person, right, gear, self.now.on);
        }
        self.group.has_right(person, right, gear, self.now.on)
    }

    /// Who may do something today, as they are called.
    pub(super) fn who_may(&self, right: &str, gear: Option<&str>) -> String {
        let mut names: Vec<&str> = self
            .names
            .iter()
            .filter(|(person, _)| self.may(person, right, gear))
            .map(|(_, name)| name.as_str())
            .collect();
        names.sort_unstable();
        if names.is_empty() { texts::rack("nobody-may", &[]) } else { names.join(", ") }
    }
}

fn about(code: &str, name: &str, person: &PersonId) -> Answer {
    let text = texts::rack(code, &[("name", name.to_owned())]);
    Answer::new(text + "\n", json!({ "person": person, "name": name }))
}

fn no_account(name: &str) -> Refused {
    Fault::new("no-account", &[("name", name.to_owned())]).into()
}

/// The day of a moment, in UTC.
fn day_of(ms: i64) -> String {
    Timestamp::from_millisecond(ms).map_or_else(|_| String::new(), |at| at.strftime("%Y-%m-%d").to_string())
}
