//! Work of list, show and compare as the record grows: from 100 to 10,000 tests, 50 a build.

#[path = "../tests/record/large.rs"]
mod large;

use truerun::record::Record;
use truerun::report::{Group, build_text, compare_groups, compare_text, lure_list};

const TESTS: [usize; 3] = [100, 1_000, 10_000];

fn main() {
    divan::main();
}

fn on_record(bencher: divan::Bencher, tests: usize, work: impl Fn(&Record) -> String) {
    let folder = tempfile::tempdir().unwrap();
    let record = large::large_record(&folder.path().join("record.truerun"), tests / 50, 50);
    bencher.bench_local(|| work(&record));
}

#[divan::bench(args = TESTS)]
fn list(bencher: divan::Bencher, tests: usize) {
    on_record(bencher, tests, |record| {
        lure_list(&record.lures(false).unwrap())
    });
}

#[divan::bench(args = TESTS)]
fn show(bencher: divan::Bencher, tests: usize) {
    on_record(bencher, tests, |record| {
        let build = record.build("hazel58-002").unwrap();
        let lure = record.lure_of_id(build.lure_id).unwrap();
        build_text(&lure, &build, &record.life(&build).unwrap())
    });
}

#[divan::bench(args = TESTS)]
fn compare(bencher: divan::Bencher, tests: usize) {
    on_record(bencher, tests, |record| {
        let group = |name: &str| Group {
            name: name.into(),
            runs: record.runs(&record.build(name).unwrap()).unwrap(),
        };
        let groups = [group("hazel58-001"), group("hazel58-002")];
        compare_text(&compare_groups(&groups, &[]))
    });
}
