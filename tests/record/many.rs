//! Ten thousand tests in the record: list, show and compare answer in less than 100 ms of work.

use truerun::record::Record;
use truerun::report::{Group, build_text, compare_groups, compare_text, lure_list};

use crate::large::large_record;
use crate::results::place;

/// Processor time of this thread, ms: others on the machine do not count.
fn worked_ms() -> f64 {
    let mut now = libc::timespec {
        tv_sec: 0,
        tv_nsec: 0,
    };
    // SAFETY: writes to the struct given.
    unsafe { libc::clock_gettime(libc::CLOCK_THREAD_CPUTIME_ID, &mut now) };
    now.tv_sec as f64 * 1e3 + now.tv_nsec as f64 / 1e6
}

fn timed<T>(what: &str, work: impl FnOnce() -> T) -> T {
    let before = worked_ms();
    let made = work();
    let took = worked_ms() - before;
    println!("{what}: {took:.1} ms");
    assert!(took < 100.0, "{what} took {took:.1} ms");
    made
}

#[test]
fn ten_thousand_tests() {
    let (_folder, path) = place();
    drop(large_record(&path, 200, 50));
    let record = timed("open", || Record::open_existing(&path).unwrap());
    let list = timed("list", || lure_list(&record.lures(true).unwrap()));
    assert!(list.contains("10000"), "{list}");
    let shown = timed("show", || {
        let build = record.build("hazel58-120").unwrap();
        let lure = record.lure_of_id(build.lure_id).unwrap();
        build_text(&lure, &build, &record.life(&build).unwrap())
    });
    assert!(shown.contains("wobble rate"));
    let compared = timed("compare", || {
        let groups: Vec<Group> = ["hazel58-120", "hazel58-121"]
            .iter()
            .map(|name| Group {
                name: (*name).into(),
                runs: record.runs(&record.build(name).unwrap()).unwrap(),
            })
            .collect();
        compare_text(&compare_groups(&groups, &[]))
    });
    assert!(compared.contains("50 and 50 runs"), "{compared}");
    assert_eq!(record.check().unwrap(), Vec::<String>::new());
}
