//! What tests of the pages share: a machine of their own, and pages that are asked as a browser would.
#![allow(dead_code, reason = "each test file uses its part")]

use axum::body::Body;
use axum::http::header::{CONTENT_TYPE, COOKIE, HOST, LOCATION};
use axum::http::{Request, StatusCode};
use axum::{Router, http::HeaderMap};
use desk::Surroundings;
use desk::helper::{HelperTrouble, What};
use desk::rack::Rack;
use http_body_util::BodyExt;
use jiff::civil::Date;
use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, AtomicU64, Ordering};
use std::time::Duration;
use tower::ServiceExt;
use web::{Reach, Site, app};

pub const NAME: &str = "127.0.0.1:7410";

/// A day that does not pass but by hand, and chance that only tells calls apart.
#[derive(Default)]
pub struct Here {
    calls: AtomicU64,
    /// How much later it is than at first, in milliseconds.
    pub later_ms: AtomicI64,
}

impl Surroundings for Here {
    fn read(&self, _: &str) -> io::Result<String> {
        Err(io::ErrorKind::NotFound.into())
    }

    fn read_bytes(&self, _: &str, _: usize) -> io::Result<Vec<u8>> {
        Err(io::ErrorKind::NotFound.into())
    }

    fn exists(&self, _: &str) -> bool {
        false
    }

    fn write(&self, _: &str, _: &str) -> io::Result<()> {
        Err(io::ErrorKind::PermissionDenied.into())
    }

    fn write_bytes(&self, _: &str, _: &[u8]) -> io::Result<()> {
        Err(io::ErrorKind::PermissionDenied.into())
    }

    fn today(&self) -> Date {
        Date::constant(2026, 11, 25)
    }

    fn ask_helper(&self, name: &str, _: &str, _: Duration) -> Result<Vec<u8>, HelperTrouble> {
        Err(HelperTrouble { name: name.to_owned(), what: What::Missing })
    }

    fn now_ms(&self) -> i64 {
        1_795_000_000_000 + self.later_ms.load(Ordering::Relaxed)
    }

    fn random(&self) -> [u8; 16] {
        (u128::from(self.calls.fetch_add(1, Ordering::Relaxed)) * 0x9E37_79B9_7F4A_7C15).to_be_bytes()
    }
}

/// The pages of an empty rack.
pub struct Pages {
    pub app: Router,
    pub token: String,
}

pub struct Told {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub text: String,
}

impl Told {
    pub fn to(&self) -> &str {
        self.headers.get(LOCATION).and_then(|place| place.to_str().ok()).unwrap_or_default()
    }
}

impl Pages {
    pub async fn new(name: &str) -> Self {
        let here: &'static Here = Box::leak(Box::default());
        let store = store(name);
        let rack = Rack::open(&store, here, None).await.expect("a store");
        let reach = Reach::new(&["127.0.0.1".to_owned()], 7410, false, None);
        let app = app(Arc::new(Site::new(rack, here, "owner".to_owned(), reach)));
        let mut pages = Self { app, token: String::new() };
        let form = pages.get("/rack/new").await.text;
        let token = form.split("name=\"token\" value=\"").nth(1).and_then(|rest| rest.split('"').next());
        pages.token = token.expect("a token").to_owned();
        pages
    }

    pub async fn ask(&self, request: Request<Body>) -> Told {
        let answer = self.app.clone().oneshot(request).await.expect("an answer");
        let (parts, body) = answer.into_parts();
        let bytes = body.collect().await.expect("a body").to_bytes();
        Told { status: parts.status, headers: parts.headers, text: String::from_utf8_lossy(&bytes).into_owned() }
    }

    pub async fn get(&self, path: &str) -> Told {
        self.ask(Request::get(path).header(HOST, NAME).body(Body::empty()).expect("a request")).await
    }

    /// With cookies.
    pub async fn get_with(&self, path: &str, cookies: &str) -> String {
        let request = Request::get(path).header(HOST, NAME).header(COOKIE, cookies).body(Body::empty());
        self.ask(request.expect("a request")).await.text
    }

    pub async fn post(&self, path: &str, fields: &[(&str, &str)]) -> Told {
        let wish = format!("{:032}", NEXT.fetch_add(1, Ordering::Relaxed));
        let mut all = vec![("token", self.token.as_str()), ("wish", &wish)];
        all.extend_from_slice(fields);
        self.ask(form(path, &all)).await
    }

    pub async fn example() -> Self {
        let pages = Self::new(&format!("example-{}", NEXT.fetch_add(1, Ordering::Relaxed))).await;
        assert_eq!(pages.post("/begin/example", &[]).await.to(), "/rack");
        pages
    }
}

/// A place for a store of its own.
pub fn store(name: &str) -> String {
    let folder = std::env::temp_dir().join(format!("linkwright-pages-{}", std::process::id()));
    std::fs::create_dir_all(&folder).expect("a folder");
    folder.join(format!("{name}.db")).to_string_lossy().into_owned()
}

pub static NEXT: AtomicU64 = AtomicU64::new(0);

pub fn form(path: &str, fields: &[(&str, &str)]) -> Request<Body> {
    let escaped = |text: &str| text.bytes().map(|byte| format!("%{byte:02X}")).collect::<String>();
    let body: Vec<_> = fields.iter().map(|(name, value)| format!("{}={}", escaped(name), escaped(value))).collect();
    let request = Request::post(path).header(HOST, NAME).header(CONTENT_TYPE, "application/x-www-form-urlencoded");
    request.body(Body::from(body.join("&"))).expect("a request")
}
