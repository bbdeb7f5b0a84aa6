//! What measuring a clip costs: processor time against decoding alone, memory over clip length.
//!
//! A 1080p60 clip is made on the spot (a lure on its line that wobbles 5 times a second over a
//! drifting, noisy bottom, 20 Mbit/s, as a phone would write it) and run through three programs:
//! `ffmpeg -i CLIP -f null -`, which only decodes; this crate's reader alone; and `truerun swim`.
//! Each runs three times and the least processor time counts. `make bench` prints the table.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use truerun::media::{Clip, ClipOptions, Frame};

/// Tells this program, run as its own child, to read a clip and do nothing else.
const READ_ONLY: &str = "TRUERUN_BENCH_READ";
const ROUNDS: usize = 3;
const GOAL_RATIO: f64 = 1.5;
const GOAL_MB: f64 = 200.0;

fn main() {
    if let Some(path) = std::env::var_os(READ_ONLY) {
        return read_through(Path::new(&path));
    }
    let dir = tempfile::tempdir().expect("a folder for the clips");
    let [short, middle, long] = make_clips(dir.path());
    compare_time(&middle);
    compare_memory(&short, &long);
}

fn compare_time(clip: &Path) {
    println!("1080p60, 30 s: processor time (user + system), least of {ROUNDS} runs");
    let mut least = [f64::INFINITY; 3];
    for _ in 0..ROUNDS {
        // In turn, so that whatever else the machine does hits all three alike.
        let runs = [decode_only(clip), reader(clip), swim(clip)].map(|run| cost(run).seconds);
        for (kept, now) in least.iter_mut().zip(runs) {
            *kept = kept.min(now);
        }
    }
    let names = [
        "ffmpeg -i CLIP -f null -",
        "the reader alone",
        "truerun swim",
    ];
    for (name, seconds) in names.iter().zip(least) {
        println!("  {name:<26} {seconds:7.2} s   × {:.2}", seconds / least[0]);
    }
    let ratio = least[2] / least[0];
    println!("  goal × {GOAL_RATIO}: {}", verdict(ratio <= GOAL_RATIO));
}

fn compare_memory(short: &Path, long: &Path) {
    println!("1080p60, peak memory of truerun swim");
    let [at_10, at_120] = [short, long].map(|clip| cost(swim(clip)).peak_mb);
    println!("  10 s {at_10:.0} MB, 120 s {at_120:.0} MB");
    println!(
        "  goal below {GOAL_MB:.0} MB: {}",
        verdict(at_120 < GOAL_MB)
    );
}

fn verdict(reached: bool) -> &'static str {
    if reached { "reached" } else { "missed" }
}

/// Clips of 10, 30 and 120 s: one that ends as it begins, and repeats of it.
fn make_clips(dir: &Path) -> [PathBuf; 3] {
    println!("making the clips (about a minute) …");
    let [ground, lure, line, short] =
        ["ground.png", "lure.png", "line.png", "10.mp4"].map(|name| dir.join(name));
    let still = |source: &str, to: &Path| {
        ffmpeg(&["-f", "lavfi", "-i", source, "-frames:v", "1"], to);
    };
    still(
        "nullsrc=s=2240x1260,noise=alls=90:allf=u,gblur=3,eq=contrast=1.8:brightness=-0.1",
        &ground,
    );
    still(
        "nullsrc=s=220x60,format=rgba,geq=r=230:g=190:b=60:\
         a='255*lt(pow((X-110)/108,2)+pow((Y-30)/26,2),1)'",
        &lure,
    );
    still("color=c=white:s=900x3", &line);
    let scene = "[0]crop=1920:1080:x='160+100*sin(2*PI*t/10)':y='90+60*cos(2*PI*t/10)'[bottom];\
                 [1]rotate='0.3*sin(2*PI*5*t)':ow=300:oh=200:c=none[lure];\
                 [bottom][lure]overlay=x='810+200*sin(2*PI*t/10)':y=450[towed];\
                 [towed][2]overlay=x='1065+200*sin(2*PI*t/10)':y=548,\
                 noise=alls=6:allf=t,format=yuv420p";
    let [ground, lure, line] = [ground, lure, line].map(|path| path.display().to_string());
    let still_inputs = [&ground, &lure, &line].map(|path| ["-loop", "1", "-r", "60", "-i", path]);
    let still_inputs = still_inputs.concat();
    let encode = [
        "-t", "10", "-r", "60", "-c:v", "libx264", "-preset", "veryfast", "-b:v", "20M", "-g", "60",
    ];
    ffmpeg(
        &[&still_inputs[..], &["-filter_complex", scene], &encode].concat(),
        &short,
    );
    let repeated = |times: &str, name: &str| {
        let to = dir.join(name);
        let from = short.display().to_string();
        ffmpeg(&["-stream_loop", times, "-i", &from, "-c", "copy"], &to);
        to
    };
    let (middle, long) = (repeated("2", "30.mp4"), repeated("11", "120.mp4"));
    [short, middle, long]
}

fn ffmpeg(arguments: &[&str], to: &Path) {
    let done = Command::new("ffmpeg")
        .args(["-v", "error", "-nostdin", "-y"])
        .args(arguments)
        .arg(to)
        .status()
        .expect("ffmpeg is installed");
    assert!(done.success(), "ffmpeg could not make {}", to.display());
}

fn decode_only(clip: &Path) -> Command {
    let mut command = Command::new("ffmpeg");
    command
        .args(["-v", "quiet", "-nostdin", "-i"])
        .arg(clip)
        .args(["-f", "null", "-"]);
    command
}

fn reader(clip: &Path) -> Command {
    let mut command = Command::new(std::env::current_exe().expect("this program's own path"));
    command.env(READ_ONLY, clip);
    command
}

fn swim(clip: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_truerun"));
    command
        .arg("swim")
        .arg(clip)
        .args(["--view", "above", "--length", "58", "--quiet"]);
    command
}

/// What a program took.
struct Cost {
    /// User and system time of all its threads, s.
    seconds: f64,
    /// Most memory that it held, MB.
    peak_mb: f64,
}

/// Runs a program to its end and asks the system what it took.
#[expect(
    clippy::zombie_processes,
    reason = "wait4 waits for it, and knows what it took"
)]
fn cost(mut command: Command) -> Cost {
    command
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::inherit());
    let child = command.spawn().expect("the program starts");
    let (mut status, mut usage) = (0, std::mem::MaybeUninit::<libc::rusage>::zeroed());
    // SAFETY: the process is our own child and is waited for nowhere else; both places outlive
    // the call; a zeroed `rusage` is a valid one.
    let usage = unsafe {
        libc::wait4(
            child.id() as libc::pid_t,
            &mut status,
            0,
            usage.as_mut_ptr(),
        );
        usage.assume_init()
    };
    if status != 0 {
        println!("  (the next figure is of a run that did not end well: {command:?})");
    }
    let seconds = |t: libc::timeval| t.tv_sec as f64 + t.tv_usec as f64 * 1e-6;
    Cost {
        seconds: seconds(usage.ru_utime) + seconds(usage.ru_stime),
        // Linux counts in kB.
        peak_mb: usage.ru_maxrss as f64 / 1e3,
    }
}

fn read_through(path: &Path) {
    let mut clip = Clip::open(path, &ClipOptions::default()).expect("the clip just made");
    let mut frame = Frame::default();
    while clip.read(&mut frame).expect("the clip just made") {}
    clip.summary();
}
