//! Full disk, read-only folder, newer schema, damaged file: clear words, and the file untouched.

use std::os::unix::fs::PermissionsExt;
use std::os::unix::process::CommandExt;
use std::path::Path;
use std::process::{Command, Output};

use rusqlite::Connection;
use truerun::record::Record;

use crate::results::{place, save, swim, with_builds};

fn words(path: &Path) -> String {
    match Record::open(path) {
        Ok(_) => panic!("{} was opened", path.display()),
        Err(e) => e.to_string(),
    }
}

fn truerun(path: &Path, args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_truerun"));
    command.args(args).arg("--record").arg(path);
    command
}

fn one_line(output: &Output, says: &str) {
    let stderr = String::from_utf8_lossy(&output.stderr);
    assert_eq!(stderr.lines().count(), 1, "{stderr}");
    assert!(stderr.contains(says), "{stderr}");
    assert!(
        output
            .status
            .code()
            .is_some_and(|code| code == 1 || code == 2),
        "{stderr}"
    );
}

#[test]
fn a_newer_schema() {
    let (_folder, path) = place();
    with_builds(&path, &["hazel58-03"]);
    Connection::open(&path)
        .unwrap()
        .pragma_update(None, "user_version", 99)
        .unwrap();
    let before = std::fs::read(&path).unwrap();
    let words = words(&path);
    assert!(
        words.contains("written by a newer truerun (schema 99"),
        "{words}"
    );
    assert_eq!(std::fs::read(&path).unwrap(), before);
}

#[test]
fn what_is_no_record() {
    let (folder, path) = place();
    let text = "x".repeat(5000);
    std::fs::write(&path, &text).unwrap();
    assert!(words(&path).contains("not a tuning record"));
    assert_eq!(std::fs::read_to_string(&path).unwrap(), text);

    let other = folder.path().join("other.db");
    Connection::open(&other)
        .unwrap()
        .execute_batch("CREATE TABLE a (b)")
        .unwrap();
    let before = std::fs::read(&other).unwrap();
    assert!(words(&other).contains("another program"));
    assert_eq!(std::fs::read(&other).unwrap(), before);
    assert!(words(folder.path()).contains("is a folder"));
    let gone = Record::open_existing(&folder.path().join("gone"))
        .err()
        .unwrap()
        .to_string();
    assert!(gone.contains("there is no record yet"), "{gone}");
}

#[test]
fn a_damaged_file_is_told_and_left_alone() {
    let (_folder, path) = place();
    let mut record = with_builds(&path, &["hazel58-03"]);
    for i in 0..60 {
        save(
            &mut record,
            "hazel58-03",
            &swim(4.6 + f64::from(i) * 0.01, 3.0, None),
        );
    }
    drop(record);
    let sound = std::fs::read(&path).unwrap();
    let pages = sound.len() / 4096;
    let mut told = 0;
    for page in 1..pages {
        let mut damaged = sound.clone();
        damaged[page * 4096..page * 4096 + 2048].fill(0xa5);
        std::fs::write(&path, &damaged).unwrap();
        let check = truerun(&path, &["lure", "check"]).output().unwrap();
        let stderr = String::from_utf8_lossy(&check.stderr).to_string();
        assert!(!stderr.contains("panicked"), "{stderr}");
        told += usize::from(check.status.code() == Some(1));
        let show = truerun(&path, &["lure", "show", "hazel58-03"])
            .output()
            .unwrap();
        assert!(!String::from_utf8_lossy(&show.stderr).contains("panicked"));
        assert_eq!(
            std::fs::read(&path).unwrap(),
            damaged,
            "page {page} was written to"
        );
    }
    // Free space inside a page may hold anything; nearly every page is used.
    assert!(
        told + 1 >= pages - 1,
        "{told} of {} damaged pages were told",
        pages - 1
    );

    std::fs::write(&path, &sound[..sound.len() / 2]).unwrap();
    let cut = truerun(&path, &["lure", "check"]).output().unwrap();
    assert_eq!(cut.status.code(), Some(1));
    assert_eq!(
        std::fs::metadata(&path).unwrap().len() as usize,
        sound.len() / 2
    );
}

/// As a full disk: the system lets no file grow past its size now.
fn without_room(command: &mut Command, bytes: u64) -> &mut Command {
    // SAFETY: both calls may be made between fork and exec.
    unsafe {
        command.pre_exec(move || {
            let limit = libc::rlimit {
                rlim_cur: bytes,
                rlim_max: bytes,
            };
            libc::signal(libc::SIGXFSZ, libc::SIG_IGN);
            match libc::setrlimit(libc::RLIMIT_FSIZE, &limit) {
                0 => Ok(()),
                _ => Err(std::io::Error::last_os_error()),
            }
        })
    }
}

#[test]
fn no_room_to_grow() {
    let (folder, path) = place();
    let mut record = with_builds(&path, &["hazel58-03"]);
    save(&mut record, "hazel58-03", &swim(4.6, 3.0, None));
    drop(record);
    let before = std::fs::read(&path).unwrap();
    let result = folder.path().join("result.json");
    let mut large: serde_json::Value = serde_json::from_str(&swim(4.6, 3.0, None)).unwrap();
    large["padding"] = "x".repeat(100_000).into();
    std::fs::write(&result, large.to_string()).unwrap();
    let mut command = truerun(
        &path,
        &["lure", "test", "hazel58-03", result.to_str().unwrap()],
    );
    let output = without_room(&mut command, before.len() as u64)
        .output()
        .unwrap();
    one_line(&output, "nothing was saved");
    let record = Record::open_existing(&path).unwrap();
    assert_eq!(record.check().unwrap(), Vec::<String>::new());
    assert_eq!(std::fs::read(&path).unwrap(), before);
}

/// A disk that is really full, where this process may mount one.
#[test]
fn a_full_disk() {
    let folder = tempfile::tempdir().unwrap();
    let mounted = Command::new("mount")
        .args(["-t", "tmpfs", "-o", "size=160k", "tmpfs"])
        .arg(folder.path())
        .output()
        .is_ok_and(|done| done.status.success());
    if !mounted {
        println!("skipped: may not mount a small disk here");
        return;
    }
    let path = folder.path().join("record.truerun");
    let mut record = with_builds(&path, &["hazel58-03"]);
    let mut saved = 0;
    let fault = loop {
        let test = truerun::record::NewTest::default();
        let kind = truerun::record::TestKind::Swim;
        match record.save_test("hazel58-03", kind, &test, &swim(4.6, 3.0, None)) {
            Ok(_) => saved += 1,
            Err(e) => break e.to_string(),
        }
        assert!(saved < 1000);
    };
    let there = record
        .runs(&record.build("hazel58-03").unwrap())
        .unwrap()
        .len();
    let check = record.check().unwrap();
    drop(record);
    let unmounted = Command::new("umount").arg(folder.path()).status();
    assert!(unmounted.is_ok_and(|status| status.success()));
    assert!(fault.contains("no room left on the disk"), "{fault}");
    assert!(saved > 3 && there == saved, "{saved} saved, {there} there");
    assert_eq!(check, Vec::<String>::new());
}

/// Runs as a user without rights where the tests run as the superuser, whom no protection stops.
fn without_rights(command: &mut Command) -> &mut Command {
    // SAFETY: only asks for a number.
    if unsafe { libc::geteuid() } == 0 {
        command.uid(65_534).gid(65_534);
    }
    command
}

#[test]
fn a_read_only_folder() {
    let folder = tempfile::tempdir().unwrap();
    let program = folder.path().join("truerun");
    std::fs::copy(env!("CARGO_BIN_EXE_truerun"), &program).unwrap();
    let locked = folder.path().join("locked");
    std::fs::create_dir(&locked).unwrap();
    let path = locked.join("record.truerun");
    with_builds(&path, &["hazel58-03"]);
    let before = std::fs::read(&path).unwrap();
    let mode = |path: &Path, mode| {
        std::fs::set_permissions(path, std::fs::Permissions::from_mode(mode)).unwrap();
    };
    mode(folder.path(), 0o755);
    mode(&program, 0o755);
    let run = |args: &[&str], path: &Path| {
        let mut command = Command::new(&program);
        command.args(args).arg("--record").arg(path);
        without_rights(&mut command).output().unwrap()
    };
    for file_mode in [0o666, 0o444] {
        mode(&path, file_mode);
        mode(&locked, 0o555);
        let add = run(&["lure", "add", "Rowan 65"], &path);
        one_line(&add, "--record");
        let show = run(&["lure", "show", "hazel58-03"], &path);
        assert!(
            show.status.success(),
            "{}",
            String::from_utf8_lossy(&show.stderr)
        );
        let new = run(&["lure", "add", "Rowan 65"], &locked.join("new.truerun"));
        one_line(&new, "--record");
        mode(&locked, 0o755);
        assert_eq!(std::fs::read(&path).unwrap(), before);
        assert_eq!(std::fs::read_dir(&locked).unwrap().count(), 1);
    }
}
