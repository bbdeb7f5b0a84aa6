//! Which clips are scored: those of a folder or changed copies of them, or scenes drawn on the spot, described or
//! by chance.

use std::path::{Path, PathBuf};

use truerun::scene::{SceneDescription, write_clip};

use super::truth::{BOX, Truth, UNAIDED};
use super::{Outcome, chance, copies};

/// What was asked for.
pub struct Ask {
    /// Folder of the clips, or of the scenes, where one was named.
    folder: Option<PathBuf>,
    /// Beginnings of the names that are wanted; all where empty.
    names: Vec<String>,
    source: Source,
    /// Print what was reached as new bars.
    pub print_bars: bool,
    /// The only start that is tried, where one was asked for.
    start: Option<&'static str>,
}

/// Where the clips come from.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Source {
    /// They lie in a folder.
    Clips,
    /// They are changed copies of the shared ones.
    Copies,
    /// They are drawn from the scenes in a folder.
    Scenes,
    /// So many are drawn by chance from a seed.
    Chance { seed: u64, count: usize },
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
    pub fn read(words: impl Iterator<Item = String>) -> Outcome<Ask> {
        let mut ask = Ask {
            folder: None,
            names: Vec::new(),
            source: Source::Clips,
            print_bars: false,
            start: None,
        };
        let (mut seed, mut count) = (None, None);
        for word in words {
            let (option, value) = word.split_once('=').unwrap_or((&word, ""));
            match option {
                "--scenes" => ask.source = Source::Scenes,
                "--copies" => ask.source = Source::Copies,
                "--chance" => seed = Some(value.parse().map_err(|_| "give --chance=SEED")?),
                "--count" => count = Some(value.parse().map_err(|_| "give --count=N")?),
                "--bars" => ask.print_bars = true,
                "--box" => ask.start = Some(BOX),
                "--unaided" => ask.start = Some(UNAIDED),
                _ if word.starts_with("--") => return Err(format!("no option {word}").into()),
                _ if ask.folder.is_none() && ask.names.is_empty() && is_folder(&word) => {
                    ask.folder = Some(PathBuf::from(word));
                }
                _ if word.contains('/') => return Err(format!("no folder {word}").into()),
                _ => ask.names.push(word),
            }
        }
        match (seed, ask.source) {
            (Some(seed), Source::Clips) => {
                let count = count.unwrap_or(9);
                ask.source = Source::Chance { seed, count };
            }
            (Some(_), _) => return Err("give one of --scenes, --copies and --chance".into()),
            (None, _) if count.is_some() => return Err("--count goes with --chance".into()),
            (None, _) => (),
        }
        Ok(ask)
    }

    /// What is scored, in words.
    pub fn place(&self) -> String {
        match self.source {
            Source::Chance { seed, .. } => format!("the scenes of seed {seed}"),
            Source::Copies => format!("the copies of {}", shared_clips().display()),
            Source::Clips | Source::Scenes => self.folder().display().to_string(),
        }
    }

    fn folder(&self) -> PathBuf {
        self.folder.clone().unwrap_or_else(|| match self.source {
            Source::Scenes => PathBuf::from("sample-data/scenes"),
            Source::Clips | Source::Copies | Source::Chance { .. } => shared_clips(),
        })
    }

    /// Whether it is all of the shared clips.
    pub fn all_shared(&self) -> bool {
        let all = self.names.is_empty() && self.start.is_none();
        self.source == Source::Clips && all && self.folder() == shared_clips()
    }

    fn wants(&self, name: &str) -> bool {
        self.names.is_empty() || self.names.iter().any(|w| name.starts_with(w.as_str()))
    }

    /// Whether this start is to be tried.
    pub fn tries(&self, start: &str) -> bool {
        self.start.is_none_or(|only| only == start)
    }

    /// The clips in order of their names. Scenes are drawn into `drawn`, copies and scenes by chance into the folder that
    /// was named, if any, and kept there.
    pub fn clips(&self, drawn: &Path) -> Outcome<Vec<KnownClip>> {
        match self.source {
            Source::Clips => Ok(self.lying_in(&self.folder())),
            Source::Scenes => self.drawn_from(&self.folder(), drawn),
            Source::Copies => self.copied(self.folder.as_deref().unwrap_or(drawn)),
            Source::Chance { seed, count } => {
                let folder = self.folder.as_deref().unwrap_or(drawn);
                self.by_chance(seed, count, folder)
            }
        }
    }

    fn lying_in(&self, folder: &Path) -> Vec<KnownClip> {
        let names = stems(folder, "mp4").into_iter();
        let clips = names.filter(|n| self.wants(n)).map(|n| known(folder, n));
        clips.filter(|clip| clip.truth.is_file()).collect()
    }

    /// Copies of all shared clips, in every way; what lies in the folder already is not made again.
    fn copied(&self, folder: &Path) -> Outcome<Vec<KnownClip>> {
        let mut clips = Vec::new();
        let shared = shared_clips();
        for name in stems(&shared, "mp4") {
            let first = known(&shared, name.clone());
            if !first.truth.is_file() {
                continue;
            }
            let truth = Truth::read(&first.truth)?;
            for variant in &copies::VARIANTS {
                let copy = known(folder, format!("{name}_{}", variant.name));
                if !self.wants(&copy.name) || !variant.suits(&truth) {
                    continue;
                }
                if !(copy.clip.is_file() && copy.truth.is_file()) {
                    eprintln!("writing {}", copy.name);
                    variant.write(&first, &copy)?;
                }
                clips.push(copy);
            }
        }
        Ok(clips)
    }

    fn drawn_from(&self, scenes: &Path, drawn: &Path) -> Outcome<Vec<KnownClip>> {
        let mut clips = Vec::new();
        for name in stems(scenes, "toml").into_iter().filter(|n| self.wants(n)) {
            let scene = SceneDescription::read(&scenes.join(format!("{name}.toml")))?;
            clips.push(draw(&scene, known(drawn, name))?);
        }
        Ok(clips)
    }

    /// What lies in the folder already is not drawn again if it is of the same scene.
    fn by_chance(&self, seed: u64, count: usize, folder: &Path) -> Outcome<Vec<KnownClip>> {
        let mut clips = Vec::new();
        let scenes = chance::scenes(seed, count).into_iter();
        for scene in scenes.filter(|s| self.wants(&s.name)) {
            let clip = known(folder, scene.name.clone());
            let beside = clip.clip.with_extension("toml");
            let told = toml::to_string(&scene)?;
            let drawn = std::fs::read_to_string(&beside).is_ok_and(|t| t == told);
            if drawn && clip.clip.is_file() && clip.truth.is_file() {
                clips.push(clip);
            } else {
                clips.push(draw(&scene, clip)?);
                std::fs::write(beside, told)?;
            }
        }
        Ok(clips)
    }
}

fn draw(scene: &SceneDescription, clip: KnownClip) -> Outcome<KnownClip> {
    eprintln!("drawing {}", clip.name);
    write_clip(scene, &clip.clip, |_, _| {})?;
    Ok(clip)
}

fn known(folder: &Path, name: String) -> KnownClip {
    KnownClip {
        clip: folder.join(format!("{name}.mp4")),
        truth: folder.join(format!("{name}.json")),
        name,
    }
}

fn is_folder(word: &str) -> bool {
    Path::new(word).is_dir()
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
