//! Draws a scene: `cargo run --release --example scene -- SCENE.toml CLIP.mp4 [mirrored]`
//!
//! Writes the clip and, beside it, its truth as JSON.

use std::path::Path;
use std::process::ExitCode;

use truerun::scene::{SceneDescription, write_clip};

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let (scene, clip, mirrored) = match arguments.as_slice() {
        [scene, clip] => (scene, clip, false),
        [scene, clip, word] if word == "mirrored" => (scene, clip, true),
        _ => {
            eprintln!("usage: scene SCENE.toml CLIP.mp4 [mirrored]");
            return ExitCode::from(2);
        }
    };
    let drawn = SceneDescription::read(Path::new(scene)).and_then(|scene| {
        let scene = if mirrored { scene.mirror() } else { scene };
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
