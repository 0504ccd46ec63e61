//! Signing in and out, and one's own account.

use crate::door::{self, Guest};
use crate::form::{Field, Form, Kind, against};
use crate::layout::{Room, page};
use crate::problem::{Problem, Wrong, told};
use crate::typed::Typed;
use crate::{Shared, Site, line, word};
use axum::extract::{ConnectInfo, Query};
use axum::http::StatusCode;
use axum::http::header::{RETRY_AFTER, SET_COOKIE};
use axum::response::{AppendHeaders, IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{Extension, Form as Fields, Router};
use desk::texts;
use maud::{Markup, html};
use serde::Deserialize;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::Arc;
use std::time::Duration;

pub fn routes() -> Router<Arc<Site>> {
    Router::new()
        .route("/sign-in", get(blank).post(sign_in))
        .route("/sign-out", post(sign_out))
        .route("/me", get(me))
        .route("/me/password", post(change_password))
        .route("/me/sign-out-everywhere", post(sign_out_everywhere))
}

#[derive(Deserialize)]
struct To {
    #[serde(default)]
    to: String,
}

#[derive(Deserialize)]
struct Given {
    #[serde(default)]
    name: String,
    #[serde(default)]
    password: String,
    #[serde(default)]
    to: String,
}

/// The form, and where it leads.
pub fn asked(to: &str, name: &str, wrong: &[Wrong]) -> Markup {
    page(
        Room::None,
        &word("sign-in"),
        html! {
            @if !wrong.is_empty() { (told(wrong)) }
            form method="post" action="/sign-in" {
                input type="hidden" name="to" value=(to);
                div.field { label for="sign-in-name" { (word("person-name")) }
                    input #sign-in-name type="text" name="name" value=(name) required autocomplete="username" autocapitalize="none" spellcheck="false"; }
                div.field { label for="sign-in-password" { (word("password")) }
                    input #sign-in-password type="password" name="password" required autocomplete="current-password"; }
                button type="submit" { (word("sign-in")) }
            }
            p.hint { (word("sign-in-hint")) }
            p { a href="/waiting" { (word("sign-in-waiting")) } }
        },
    )
}

async fn blank(Query(To { to }): Query<To>) -> Markup {
    asked(within(&to), "", &[])
}

/// An address of these pages; anything else is their beginning.
fn within(to: &str) -> &str {
    let is_path = to.starts_with('/') && !to.starts_with("//") && to.bytes().all(|byte| byte.is_ascii_graphic());
    if is_path && !to.contains('\\') { to } else { "/" }
}

async fn sign_in(
    Shared(site): Shared,
    from: Option<Extension<ConnectInfo<SocketAddr>>>,
    Fields(Given { name, password, to }): Fields<Given>,
) -> Result<Response, Problem> {
    let (name, to) = (name.trim(), within(&to));
    let from = from.map_or(IpAddr::V4(Ipv4Addr::UNSPECIFIED), |Extension(ConnectInfo(from))| from.ip());
    let Some(guesses) = &site.guesses else { return Err(Problem::NoSuchPage("/sign-in".to_owned())) };
    if let Err(wait) = guesses.may_try(name, from) {
        return Ok(too_many(to, name, wait));
    }
    let Some(secret) = site.rack.sign_in(name, &password).await? else {
        let wrong = Wrong::new(word("wrong-password"), word("wrong-password-help"));
        return Ok((StatusCode::UNAUTHORIZED, asked(to, name, &[wrong])).into_response());
    };
    guesses.came_in(name, from);
    // Whoever was signed in here is no longer.
    if let Some(guest) = &site.guest {
        site.rack.sign_out(&guest.secret).await?;
    }
    Ok(([(SET_COOKIE, door::held(&site, &secret))], Redirect::to(to)).into_response())
}

fn too_many(to: &str, name: &str, wait: Duration) -> Response {
    let seconds = (wait.as_secs() + 1).to_string();
    let wrong = Wrong::new(word("too-many-tries"), line("too-many-tries-help", &seconds));
    let headers = AppendHeaders([(RETRY_AFTER, seconds)]);
    (StatusCode::TOO_MANY_REQUESTS, headers, asked(to, name, &[wrong])).into_response()
}

/// Where accounts are off there is no such page.
fn guest(site: &Site) -> Result<&Guest, Problem> {
    site.guest.as_ref().ok_or_else(|| Problem::NoSuchPage("/me".to_owned()))
}

async fn sign_out(Shared(site): Shared, _: Typed) -> Result<Response, Problem> {
    site.rack.sign_out(&guest(&site)?.secret).await?;
    Ok(left(&site))
}

async fn sign_out_everywhere(Shared(site): Shared, _: Typed) -> Result<Response, Problem> {
    site.rack.end_sign_ins(&guest(&site)?.name).await?;
    Ok(left(&site))
}

fn left(site: &Site) -> Response {
    ([(SET_COOKIE, door::held(site, ""))], Redirect::to("/sign-in")).into_response()
}

fn password_form() -> Form {
    let field = |name: &str, autocomplete| Field::new(name, word(name), Kind::Secret(autocomplete)).required();
    let new = field("new-password", "new-password").hint(word("password-hint"));
    Form::new("/me/password", word("password-change"), vec![field("old-password", "current-password"), new])
}

async fn me(Shared(site): Shared) -> Result<Markup, Problem> {
    draw(&site, &[]).await
}

async fn draw(site: &Site, wrong: &[Wrong]) -> Result<Markup, Problem> {
    let guest = guest(site)?;
    let rights = site.rack.my_rights().await?;
    let ends = |path: &str, code: &str| Form::new(path, word(code), Vec::new()).empty(site);
    Ok(page(
        Room::None,
        &guest.name,
        html! {
            p { (line("writes-as", &guest.name)) }
            h2 { (word("my-rights")) }
            ul.rows { li { (word("right-look")) } @for right in &rights { li { (told_right(right)) } } }
            p.hint { (line("keepers", site.rack.who_may("keep").await?)) }
            @if guest.keeps { p { a href="/accounts" { (word("accounts")) } } }
            h2 { (word("sign-out")) }
            (ends("/sign-out", "sign-out"))
            (ends("/me/sign-out-everywhere", "sign-out-everywhere"))
            h2 { (word("password-change")) }
            (password_form().draw(site, &Typed::default(), wrong))
        },
    ))
}

/// A right in words; with the kind of gear where it is for that alone.
fn told_right(right: &str) -> String {
    let (right, kind) = right.split_once(':').map_or((right, None), |(right, kind)| (right, Some(kind)));
    let told = word(&format!("right-{right}"));
    kind.map_or(told.clone(), |kind| format!("{told} ({kind})"))
}

async fn change_password(
    Shared(site): Shared,
    from: Option<Extension<ConnectInfo<SocketAddr>>>,
    typed: Typed,
) -> Result<Response, Problem> {
    let guest = guest(&site)?;
    let from = from.map_or(IpAddr::V4(Ipv4Addr::UNSPECIFIED), |Extension(ConnectInfo(from))| from.ip());
    if let Some(Err(wait)) = site.guesses.as_ref().map(|guesses| guesses.may_try(&guest.name, from)) {
        let wrong = Wrong::new(word("too-many-tries"), line("too-many-tries-help", wait.as_secs() + 1));
        return Ok((StatusCode::TOO_MANY_REQUESTS, draw(&site, &[wrong]).await?).into_response());
    }
    let (old, new) = (typed.secret("old-password"), typed.secret("new-password"));
    match site.rack.change_password(old, new, &guest.secret).await {
        Ok(()) => {
            Ok(page(Room::None, &word("password-change"), html! { p { (texts::page("password-changed", &[])) } })
                .into_response())
        }
        Err(refused) => {
            let wrong = against(Problem::Refused(refused))?;
            Ok((StatusCode::UNPROCESSABLE_ENTITY, draw(&site, &wrong).await?).into_response())
        }
    }
}
