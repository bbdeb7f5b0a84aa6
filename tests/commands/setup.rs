//! The set-up script: silent where all is there, and on other systems says what to install.

use std::path::Path;
use std::process::{Command, Output};

/// Runs the script with another system's name, and with libraries found only in `libraries`.
fn set_up_on(system: &str, libraries: &str) -> Output {
    let dir = tempfile::tempdir().unwrap();
    let os_release = dir.path().join("os-release");
    std::fs::write(&os_release, system).unwrap();
    Command::new(Path::new(env!("CARGO_MANIFEST_DIR")).join("scripts/setup"))
        .env("OS_RELEASE", &os_release)
        .env("PKG_CONFIG_LIBDIR", libraries)
        .output()
        .unwrap()
}

#[test]
fn another_family_is_told_what_to_install() {
    for system in [
        "ID=fedora\n",
        "ID=\"opensuse-leap\"\nID_LIKE=\"suse opensuse\"\n",
        "",
    ] {
        let done = set_up_on(system, "/nowhere");
        let words = String::from_utf8_lossy(&done.stderr);
        assert_eq!(done.status.code(), Some(1), "{system}: {words}");
        for package in [
            "opencv-devel",
            "ffmpeg-devel",
            "clang-devel",
            "pacman -S",
            "brew install",
        ] {
            assert!(words.contains(package), "{system}: {package} in {words}");
        }
    }
}

#[test]
fn every_debian_package_of_the_script_is_in_the_readme() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let script = std::fs::read_to_string(root.join("scripts/setup")).unwrap();
    let readme = std::fs::read_to_string(root.join("README.md")).unwrap();
    let list = script
        .split("debian_packages=(")
        .nth(1)
        .unwrap()
        .split("\n)")
        .next()
        .unwrap();
    let packages: Vec<&str> = list
        .lines()
        .flat_map(|l| l.split('#').next().unwrap().split_whitespace())
        .collect();
    assert!(packages.len() > 8);
    for package in packages {
        assert!(
            readme.contains(&format!("`{package}`")),
            "{package} is not in README.md"
        );
    }
}
