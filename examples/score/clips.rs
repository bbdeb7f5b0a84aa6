//! Which clips are scored: those of a folder, or scenes drawn on the spot, described or by chance.

use std::path::{Path, PathBuf};

use truerun::scene::{SceneDescription, write_clip};

use super::truth::{BOX, UNAIDED};
use super::{Outcome, chance};

/// What was asked for.
pub struct Ask {
    /// Folder of the clips, or of the scenes.
    pub folder: PathBuf,
    /// Beginnings of the names that are wanted; all where empty.
    names: Vec<String>,
    scenes: bool,
    /// Seed and number of the scenes by chance, where those were asked for.
    chance: Option<(u64, usize)>,
    /// Print what was reached as new bars.
    pub print_bars: bool,
    /// The only start that is tried, where one was asked for.
    start: Option<&'static str>,
}

/// A clip and its truth.
pub struct KnownClip {
    /// Name without ending.
    pub name: String,
    /// The clip.
    pub clip: PathBuf,
    /// Its truth.
    pub truth: PathBuf,
}

impl Ask {
    /// Reads the command line.
    pub fn read(words: impl Iterator<Item = String>) -> Ask {
        let (options, names): (Vec<String>, Vec<String>) = words.partition(|w| w.starts_with("--"));
        let scenes = options.iter().any(|o| o == "--scenes");
        let usual = if scenes {
            PathBuf::from("sample-data/scenes")
        } else {
            shared_clips()
        };
        let mut names = names.into_iter().peekable();
        let folder = names.next_if(|n| Path::new(n).is_dir());
        Ask {
            folder: folder.map_or(usual, PathBuf::from),
            names: names.collect(),
            scenes,
            chance: number(&options, "--chance=")
                .map(|seed| (seed, number(&options, "--count=").unwrap_or(9) as usize)),
            print_bars: options.iter().any(|o| o == "--bars"),
            start: [BOX, UNAIDED]
                .into_iter()
                .find(|start| options.iter().any(|o| o[2..] == **start)),
        }
    }

    /// Whether it is all of the shared clips.
    pub fn all_shared(&self) -> bool {
        let all = self.names.is_empty() && self.start.is_none();
        !self.scenes && self.chance.is_none() && all && self.folder == shared_clips()
    }

    /// Whether this start is to be tried.
    pub fn tries(&self, start: &str) -> bool {
        self.start.is_none_or(|only| only == start)
    }

    /// The clips in order of their names; scenes are drawn into `drawn`.
    pub fn clips(&self, drawn: &Path) -> Outcome<Vec<KnownClip>> {
        if let Some((seed, count)) = self.chance {
            return self.clips_by_chance(seed, count, drawn);
        }
        let ending = if self.scenes { "toml" } else { "mp4" };
        let names = stems(&self.folder, ending).into_iter().filter(|n| {
            self.names.is_empty() || self.names.iter().any(|w| n.starts_with(w.as_str()))
        });
        let mut clips = Vec::new();
        for name in names {
            let folder = if self.scenes { drawn } else { &self.folder };
            let clip = KnownClip {
                clip: folder.join(format!("{name}.mp4")),
                truth: folder.join(format!("{name}.json")),
                name,
            };
            if self.scenes {
                let scene = self.folder.join(format!("{}.toml", clip.name));
                eprintln!("drawing {}", clip.name);
                write_clip(&SceneDescription::read(&scene)?, &clip.clip, |_, _| {})?;
            }
            if clip.truth.is_file() {
                clips.push(clip);
            }
        }
        Ok(clips)
    }

    /// Scenes by chance, drawn into the folder that was named and kept there, else into `drawn`. What the
    /// folder holds already is not drawn again.
    fn clips_by_chance(&self, seed: u64, count: usize, drawn: &Path) -> Outcome<Vec<KnownClip>> {
        let kept = self.folder != shared_clips();
        let folder = if kept { self.folder.as_path() } else { drawn };
        let mut clips = Vec::new();
        for scene in chance::scenes(seed, count) {
            let clip = folder.join(format!("{}.mp4", scene.name));
            let truth = clip.with_extension("json");
            if !truth.is_file() {
                eprintln!("drawing {}", scene.name);
                scene.check()?;
                write_clip(&scene, &clip, |_, _| {})?;
            }
            clips.push(KnownClip {
                name: scene.name,
                clip,
                truth,
            });
        }
        Ok(clips)
    }
}

/// The number after an option that begins so.
fn number(options: &[String], beginning: &str) -> Option<u64> {
    let value = options.iter().find_map(|o| o.strip_prefix(beginning))?;
    value.parse().ok()
}

/// Where the shared clips lie: beside the repository, or where `TRUERUN_SHARED` points.
fn shared_clips() -> PathBuf {
    std::env::var_os("TRUERUN_SHARED")
        .map_or_else(|| PathBuf::from("../shared"), PathBuf::from)
        .join("clips")
}

/// Names of the files with that ending, without it, in order; none where there is no such folder.
fn stems(folder: &Path, ending: &str) -> Vec<String> {
    let entries = std::fs::read_dir(folder).into_iter().flatten().flatten();
    let mut stems: Vec<String> = entries
        .map(|entry| entry.path())
        .filter(|path| path.extension().is_some_and(|e| e == ending))
        .filter_map(|path| Some(path.file_stem()?.to_str()?.to_owned()))
        .collect();
    stems.sort();
    stems
}
