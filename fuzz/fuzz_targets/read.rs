//! Any bytes as a photo.
#![no_main]

use libfuzzer_sys::fuzz_target;
use wear::measure::{Settings, read};

fuzz_target!(|bytes: &[u8]| {
    let _ = read(bytes, &Settings::default());
});
