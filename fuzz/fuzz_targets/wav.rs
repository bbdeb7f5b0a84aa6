//! Any bytes as a wav file: a recording that can be analysed, or one line; never a panic.
#![no_main]

use libfuzzer_sys::fuzz_target;
use truerun::media::read_wav;
use truerun::motion::thump::{ThumpOptions, analyse};

fuzz_target!(|bytes: &[u8]| {
    let Ok(file) = tempfile::NamedTempFile::new() else {
        return;
    };
    if std::fs::write(file.path(), bytes).is_err() {
        return;
    }
    let read = read_wav(file.path());
    if let Ok(recording) = read {
        let _ = analyse(&recording, &ThumpOptions::default());
    }
});
