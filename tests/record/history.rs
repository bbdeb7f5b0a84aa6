//! The history page: whole in itself, and nothing of the user's gets out as anything but text.

use truerun::record::{BuildEdit, BuildMake, ChangeKind, LureEdit, NewChange, NewTest, TestKind};
use truerun::report::{build_text, history_page, lure_text};

use crate::results::{new_build, place, save, swim, with_builds};

const HOSTILE: &str = "</pre></title><script>document.title='TAKEN'</script><img src=x onerror=a(2)>\"{{991*997}}&amp;";

/// The page of a lure in which every text of the user's is hostile.
fn hostile_page() -> String {
    let (_folder, path) = place();
    let mut record = with_builds(&path, &[]);
    let name = HOSTILE.to_string();
    let lure = LureEdit {
        name: Some(name.clone()),
        note: Some(name.clone()),
        ..LureEdit::default()
    };
    record.edit_lure("Hazel 58", &lure).unwrap();
    let mut build = new_build("</svg><script>document.title='TAKEN'</script>");
    build.lure.clone_from(&name);
    record.add_build(&build).unwrap();
    let test = NewTest {
        place: Some(name.clone()),
        ..NewTest::default()
    };
    let verdict =
        serde_json::json!({"overall": name, "measures": [{"measure": name, "verdict": name}]});
    let mut result: serde_json::Value = serde_json::from_str(&swim(4.6, 3.0, None)).unwrap();
    result["verdict"] = verdict;
    record
        .save_test(&build.name, TestKind::Swim, &test, &result.to_string())
        .unwrap();
    let change = NewChange {
        kind: ChangeKind::Other,
        when: None,
        sideways: None,
        upright: None,
        note: Some(name.clone()),
    };
    record.log_change(&build.name, &change).unwrap();
    record
        .add_photo(
            &build.name,
            "\" onload=\"document.title='TAKEN'",
            Some(&name),
        )
        .unwrap();

    history_page(&record, &record.lure(&name).unwrap()).unwrap()
}

#[test]
fn hostile_names_are_only_text() {
    let page = hostile_page();
    let lower = page.to_lowercase();
    assert!(!lower.contains("<script"), "{page}");
    assert!(!lower.contains("<img"), "{page}");
    assert!(!page.contains("988027"), "a name was run as a template");
    assert_eq!(page.matches("</title>").count(), 1);
    assert_eq!(page.matches("</pre>").count(), 1);
    assert!(page.contains("&lt;script&gt;"));
    assert!(page.contains("{{991*997}}"));
}

/// What a real browser makes of the page, where Chromium is installed. The page's own ban on scripts is
/// taken out first, so that only the escaping stands between the names and the browser.
#[test]
fn hostile_names_in_a_browser() {
    let (folder, path) = place();
    let file = path.with_extension("html");
    let ban = "<meta http-equiv=\"Content-Security-Policy\"";
    let page = hostile_page();
    assert!(page.contains(ban));
    let page = page.replace(ban, "<meta name=\"was-a-ban\"");
    let shown = |page: &str| {
        std::fs::write(&file, page).unwrap();
        // A browser that hangs must not hang the tests.
        std::process::Command::new("timeout")
            .args(["20", "chromium"])
            .stdin(std::process::Stdio::null())
            .args(["--headless", "--no-sandbox", "--disable-gpu", "--dump-dom"])
            .arg(format!(
                "--user-data-dir={}/browser",
                folder.path().display()
            ))
            .arg(format!("file://{}", file.display()))
            .output()
            .map(|output| String::from_utf8_lossy(&output.stdout).to_string())
    };
    let dom = shown(&page).unwrap_or_default();
    if dom.is_empty() {
        println!("skipped: no chromium here that works");
        return;
    }
    assert!(dom.contains("&lt;script&gt;document.title"), "{dom}");
    for taken in ["<script", "<img", "<title>TAKEN"] {
        assert!(!dom.contains(taken), "{taken} in {dom}");
    }
    println!("read by chromium: {} characters", dom.len());
    // The same names unescaped do take over: the test can fail.
    let unescaped = page
        .replace("&lt;", "<")
        .replace("&gt;", ">")
        .replace("&#x27;", "'")
        .replace("&#x2f;", "/");
    assert!(shown(&unescaped).unwrap().contains("TAKEN</title>"));
}

#[test]
fn one_file_with_charts_bends_verdict_and_photo() {
    let (folder, path) = place();
    let mut record = with_builds(&path, &["hazel58-03"]);
    for (drift, mm) in [(5.0, 0.3), (3.0, 0.3), (0.5, 0.0)] {
        save(&mut record, "hazel58-03", &swim(4.6, drift, Some(0.5)));
        if mm > 0.0 {
            let change = NewChange {
                kind: ChangeKind::Tie,
                when: None,
                sideways: Some((truerun::camera::Side::Left, mm)),
                upright: None,
                note: None,
            };
            record.log_change("hazel58-03", &change).unwrap();
        }
    }
    let picture = folder.path().join("a.png");
    std::fs::write(&picture, [0x89, b'P', b'N', b'G', 1, 2, 3]).unwrap();
    record
        .add_photo("Hazel 58", picture.to_str().unwrap(), None)
        .unwrap();
    record.add_photo("Hazel 58", "/gone.jpg", None).unwrap();
    let page = history_page(&record, &record.lure("Hazel 58").unwrap()).unwrap();
    assert_eq!(page.matches("<svg").count(), 3);
    assert!(page.contains("bent to own left"));
    assert!(page.contains("its own left (your right as it comes to you)"));
    assert!(
        page.replace("&#x2f;", "/")
            .contains("data:image/png;base64,iVBORwECAw==")
    );
    assert!(page.replace("&#x2f;", "/").contains("/gone.jpg (not found"));
    let without_xmlns = page
        .replace("http://www.w3.org/2000/svg", "")
        .replace("http-equiv", "");
    assert!(
        !without_xmlns.contains("http"),
        "the page asks for something outside"
    );
}

#[test]
fn the_terminal_gets_no_commands() {
    let (_folder, path) = place();
    let mut record = with_builds(&path, &["hazel58-03"]);
    let to = BuildEdit {
        make: BuildMake {
            note: Some("\u{1b}[2J\u{7}gone".into()),
            ..BuildMake::default()
        },
        ..BuildEdit::default()
    };
    let build = record.edit_build("hazel58-03", &to).unwrap();
    let lure = record.lure("Hazel 58").unwrap();
    let text = build_text(&lure, &build, &[]) + &lure_text(&lure, &[build], &[]);
    assert!(!text.contains('\u{1b}') && !text.contains('\u{7}'));
}
