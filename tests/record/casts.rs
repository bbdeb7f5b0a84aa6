//! The casts of a keeper from the record: which is off, by what measure, since when.

use truerun::record::{NewBuild, Origin};

use crate::commands::Bench;
use crate::results::{new_build, save, swim, with_builds};

#[test]
fn the_cast_that_is_off_is_named() {
    let bench = Bench::empty();
    let path = bench.record();
    std::fs::create_dir_all(path.parent().unwrap()).unwrap();
    let mut record = with_builds(&path, &["hazel58-03"]);
    save(&mut record, "hazel58-03", &swim(4.6, 0.0, None));
    for i in 1..=14 {
        let name = format!("hazel58-c{i:02}");
        let cast = NewBuild {
            origin: Origin::Cast,
            parent: Some("hazel58-03".into()),
            ..new_build(&name)
        };
        record.add_build(&cast).unwrap();
        let hz = if i == 9 {
            5.4
        } else {
            4.6 + 0.04 * f64::from(i % 3 - 1)
        };
        save(&mut record, &name, &swim(hz, 0.0, None));
    }
    drop(record);
    bench.says(
        &[
            "batch",
            "--keeper",
            "hazel58-03",
            "--chart",
            "a.svg",
            "--json",
            "a.json",
        ],
        "hazel58-c09 (5.40): outside the limits",
    );
    let read = |name| std::fs::read_to_string(bench.folder().join(name)).unwrap();
    assert!(read("a.svg").contains("hazel58-c0"));
    let object: serde_json::Value = serde_json::from_str(&read("a.json")).unwrap();
    assert_eq!(object["charts"][0]["against_keeper"], true);
    assert_eq!(object["charts"][0]["signals"][0]["cast"], "hazel58-c09");
    // no result may take the record's own place
    let over = "truerun/record.truerun";
    let record = || std::fs::read(bench.folder().join(over)).unwrap();
    let before = record();
    bench
        .run(&["batch", "--keeper", "hazel58-03", "--json", over])
        .code(2);
    assert_eq!(record(), before);
}
