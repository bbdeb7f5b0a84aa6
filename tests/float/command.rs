//! `truerun float` from outside: text, JSON, chart, marked picture, target, record, faults in one line.

use assert_cmd::Command;
use serde_json::Value;
use truerun::scene::float::{FloatPlan, write_float_photo};

use super::drawn::{Folder, clear};

fn float(folder: &Folder, args: &[&str]) -> assert_cmd::assert::Assert {
    Command::cargo_bin("truerun")
        .unwrap()
        .current_dir(&folder.0)
        .arg("float")
        .args(args)
        .assert()
}

fn bench() -> Folder {
    let folder = Folder::new();
    let side = FloatPlan {
        pitch_deg: -4.0,
        nose_right: true,
        length_mm: 58.0,
        ..clear(21, false)
    };
    write_float_photo(&side, &folder.file("side.jpg")).unwrap();
    let end = FloatPlan {
        list_deg: 4.0,
        from_nose: false,
        ..clear(22, true)
    };
    write_float_photo(&end, &folder.file("end.png")).unwrap();
    folder
}

fn text(done: &assert_cmd::assert::Assert) -> String {
    String::from_utf8(done.get_output().stdout.clone()).unwrap()
}

#[test]
fn text_json_chart_and_marked_picture() {
    let folder = bench();
    let done = float(
        &folder,
        &[
            "side.jpg",
            "--length",
            "58",
            "--json",
            "a.json",
            "--chart",
            "a.svg",
            "--chart",
            "a.png",
            "--overlay",
            "o.png",
        ],
    )
    .code(0);
    let said = text(&done);
    for says in [
        "seen from the side, level by the water",
        "nose ",
        "° up (",
        "waterline ",
        "above water ",
        "freeboard",
    ] {
        assert!(said.contains(says), "{says}\n{said}");
    }
    assert!(said.lines().all(|l| l.chars().count() <= 80), "{said}");
    let object: Value =
        serde_json::from_slice(&std::fs::read(folder.file("a.json")).unwrap()).unwrap();
    assert_eq!(object["schema"], "truerun/float/1");
    assert_eq!(object["found"], true);
    assert_eq!(object["angle"]["end_up"], "nose");
    assert_eq!(object["nose_in_picture"], "right");
    assert_eq!(object["rocking"]["status"], "unmeasurable");
    assert_eq!(object["verdict"], Value::Null);
    for file in ["a.svg", "a.png", "o.png"] {
        assert!(
            std::fs::metadata(folder.file(file)).unwrap().len() > 3000,
            "{file}"
        );
    }
}

#[test]
fn a_list_is_said_in_both_frames() {
    let folder = bench();
    let done = float(&folder, &["end.png", "--view", "end", "--from", "tail"]).code(0);
    assert!(
        text(&done)
            .replace("\n                ", " ")
            .contains("its own right (your left as it comes to you) side down"),
        "{}",
        text(&done)
    );
}

#[test]
fn target_and_record() {
    let folder = bench();
    let put = |name: &str, words: &str| std::fs::write(folder.file(name), words).unwrap();
    put(
        "in.toml",
        "float_angle_deg = [-6, -2]\nlist_deg = [-1, 1]\nrate_hz = [4, 5]\n",
    );
    put("out.toml", "float_angle_deg = { aim = 5, within = 1 }\n");
    let done = float(
        &folder,
        &[
            "side.jpg",
            "--nose",
            "right",
            "--length",
            "58",
            "--target",
            "in.toml",
            "--enforce",
        ],
    )
    .code(0);
    assert!(text(&done).contains("Verdict: inside"), "{}", text(&done));
    float(
        &folder,
        &[
            "side.jpg",
            "--nose",
            "right",
            "--length",
            "58",
            "--target",
            "out.toml",
            "--enforce",
        ],
    )
    .code(3);
    // a guessed nose may be the tail: nothing is outside by it
    let guessed = [
        "side.jpg",
        "--length",
        "58",
        "--target",
        "out.toml",
        "--enforce",
    ];
    let done = float(&folder, &guessed).code(0);
    assert!(text(&done).contains("not sure"), "{}", text(&done));
    let truerun = |args: &[&str]| {
        Command::cargo_bin("truerun")
            .unwrap()
            .current_dir(&folder.0)
            .args(args)
            .assert()
    };
    truerun(&[
        "lure", "add", "Hazel 58", "--length", "58", "--record", "r.db",
    ])
    .code(0);
    truerun(&[
        "lure",
        "add",
        "hazel58-03",
        "--of",
        "Hazel 58",
        "--record",
        "r.db",
    ])
    .code(0);
    let done = float(
        &folder,
        &[
            "side.jpg",
            "--length",
            "58",
            "--save",
            "hazel58-03",
            "--record",
            "r.db",
        ],
    );
    let said = String::from_utf8_lossy(&done.get_output().stderr).into_owned();
    assert!(said.contains("Saved as test 1 of hazel58-03"), "{said}");
    let shown = truerun(&["lure", "show", "hazel58-03", "--record", "r.db"]).code(0);
    assert!(text(&shown).contains("float"), "{}", text(&shown));
}

#[test]
fn another_water_and_its_ballast() {
    let folder = bench();
    let done = float(
        &folder,
        &[
            "side.jpg",
            "--length",
            "58",
            "--mass",
            "9.8",
            "--water",
            "fresh",
            "--water-temp",
            "20",
            "--to",
            "salt",
            "--hooks",
            "1.2",
            "--stand-in",
            "1.2,lead",
            "--json",
            "w.json",
        ],
    )
    .code(0);
    let object: Value =
        serde_json::from_slice(&std::fs::read(folder.file("w.json")).unwrap()).unwrap();
    // 9.8 g afloat displace 9.8 g of water: its density ratio 1.0266 (computed, 20 °C) asks for 0.26 g more; lead
    // in place of steel pulls by 1.2·ρ·(1/7.85 − 1/11.34) = 0.05 g more
    let within = object["water_change"]["ballast_within_g"].as_f64().unwrap();
    assert!((within - 0.26).abs() < 0.01, "{within}");
    let higher = object["water_change"]["hooks_higher_mm"].as_f64().unwrap();
    let [low, high] = [0, 1].map(|i| {
        object["water_change"]["hooks_higher_mm_ci95"][i]
            .as_f64()
            .unwrap()
    });
    assert!(low < higher && higher < high, "{low} {higher} {high}");
    assert!(text(&done).contains("! Lead: ventilate"));
    let said = text(&done).replace("\n                ", " ");
    let stand_ins = said.lines().find(|l| l.contains("stand-ins")).unwrap();
    let raised = stand_ins.split("it floats ").nth(1).unwrap();
    assert!(
        raised.contains(" mm (") && raised.contains("higher than in the test"),
        "{said}"
    );
}

#[test]
fn faults_are_one_line_each() {
    let folder = bench();
    let dry = FloatPlan {
        water: false,
        ..clear(23, false)
    };
    write_float_photo(&dry, &folder.file("dry.jpg")).unwrap();
    let cut = FloatPlan {
        place: 0.1,
        ..clear(24, false)
    };
    write_float_photo(&cut, &folder.file("cut.jpg")).unwrap();
    std::fs::write(folder.file("empty.jpg"), "").unwrap();
    std::fs::write(folder.file("words.jpg"), "no photo at all").unwrap();
    std::fs::write(folder.file("words.mp4"), "no clip at all").unwrap();
    std::fs::write(folder.file("a.heic"), b"\0\0\0\x18ftypheic\0\0\0\0mif1heic").unwrap();
    for photo in ["side.jpg", "end.png"] {
        let whole = std::fs::read(folder.file(photo)).unwrap();
        std::fs::write(
            folder.file(&format!("cut-{photo}")),
            &whole[..whole.len() / 2],
        )
        .unwrap();
    }
    for (args, code, says) in [
        (&["dry.jpg"][..], 1, "no water surface was found"),
        (&["cut.jpg"], 1, "reaches out of the picture"),
        (&["empty.jpg"], 1, "the file is empty"),
        (&["words.jpg"], 1, "this is not a photo"),
        (&["words.mp4"], 1, "this is not a video clip"),
        (&["none.jpg"], 1, "there is no such file"),
        (&["a.heic"], 1, "save it as JPEG"),
        (&["cut-side.jpg"], 1, "the photo is cut short"),
        (&["cut-end.png"], 1, "the photo is cut short"),
        (
            &["side.jpg", "--length", "-5"],
            2,
            "-5 mm is no lure's length",
        ),
        (
            &["side.jpg", "--json", "b", "--chart", "b"],
            2,
            "two results",
        ),
        (
            &["side.jpg", "--json", "b.png", "--overlay", "./b.png"],
            2,
            "two results",
        ),
        (
            &["side.jpg", "--target", "none.toml"],
            1,
            "there is no such file",
        ),
        (&["side.jpg", "--length", "0"], 2, "no lure's length"),
        (&["side.jpg", "--length", "NaN"], 2, "not a number"),
        (&["side.jpg", "--view", "top"], 2, "give side or end"),
        (
            &["end.png", "--view", "end"],
            2,
            "--from nose or --from tail",
        ),
        (&["side.jpg", "--from", "nose"], 2, "--view end"),
        (&["side.jpg", "--to", "salt"], 2, "--water fresh or"),
        (
            &["side.jpg", "--to", "salt", "--water", "fresh"],
            2,
            "--mass",
        ),
        (
            &["side.jpg", "--box", "9000,1,20,20"],
            2,
            "reaches out of the picture",
        ),
        (&["side.jpg", "--json", "side.jpg"], 2, "overwrite an input"),
        (
            &["side.jpg", "--water", "fresh", "--where", "reservoir"],
            2,
            "add --save",
        ),
    ] {
        let done = float(&folder, args).code(code);
        let said = String::from_utf8(done.get_output().stderr.clone()).unwrap();
        assert!(said.contains(says), "{args:?}: {said}");
        assert_eq!(said.lines().count(), 1, "{args:?}: {said}");
        assert!(done.get_output().stdout.is_empty(), "{args:?}");
    }
}
