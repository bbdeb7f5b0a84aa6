//! `truerun swim` with a box on the bare bottom of a clip that holds no lure: one line that says so, and no figure.

use assert_cmd::Command;
use truerun::scene::{Quality, SceneDescription, write_clip};

/// Stones and light on the bottom under a camera that moves along, and no lure.
fn no_lure() -> SceneDescription {
    let mut scene = SceneDescription {
        seed: 70,
        ..SceneDescription::default()
    };
    (scene.clip.width, scene.clip.height) = (480, 270);
    scene.clip.seconds = 2.5;
    scene.clip.quality = Quality::Quick;
    scene.lure.present = false;
    scene.camera.pull_deg = Some(90.0);
    scene.extras.line_mm = 0.0;
    scene
}

#[test]
fn a_box_on_the_bottom_holds_no_lure() {
    let folder = tempfile::tempdir().unwrap();
    let clip = folder.path().join("bottom.mp4");
    write_clip(&no_lure(), &clip, |_, _| {}).unwrap();
    for given in ["200,110,60,30", "300,150,40,60"] {
        let done = Command::cargo_bin("truerun")
            .unwrap()
            .arg("swim")
            .arg(&clip)
            .args(["--view", "above", "--length", "58", "--box", given])
            .args(["--json", "-", "--quiet"])
            .assert()
            .code(1);
        let output = done.get_output();
        let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        assert_eq!(json["found"], false, "{given}");
        for measure in ["wobble", "drift", "speed", "hunts", "blow_out"] {
            assert_eq!(json[measure]["status"], "unmeasurable", "{given} {measure}");
        }
        let told = String::from_utf8_lossy(&output.stderr);
        assert_eq!(told.lines().count(), 1, "{told}");
        assert!(
            told.contains("no lure was found") && told.contains("draw the box"),
            "{told}"
        );
    }
}
