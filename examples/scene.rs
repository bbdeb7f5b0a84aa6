//! Draws a scene: `cargo run --release --example scene -- SCENE.toml CLIP.mp4`
//!
//! Writes the clip and, beside it, its truth as JSON.

use std::path::Path;
use std::process::ExitCode;

use truerun::scene::{SceneDescription, write_clip};

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let [scene, clip] = arguments.as_slice() else {
        eprintln!("usage: scene SCENE.toml CLIP.mp4");
        return ExitCode::from(2);
    };
    let drawn = SceneDescription::read(Path::new(scene)).and_then(|scene| {
        write_clip(&scene, Path::new(clip), |done, all| {
            eprint!("\r{done} of {all} frames")
        })
    });
    eprintln!();
    match drawn {
        Ok(_) => ExitCode::SUCCESS,
        Err(e) => {
            eprintln!("{e}");
            ExitCode::from(e.exit_status())
        }
    }
}
