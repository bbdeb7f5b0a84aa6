//! Logger exports of many kinds, and bad ones told in one line.

use super::made::Pull;
use super::support::shared;
use std::fmt::Write;
use std::path::Path;
use truerun::media::{AccelerationUnit, LogOptions, Recording, Unit, read_recording};
use truerun::motion::thump::{Thump, ThumpOptions, analyse};

fn read(bytes: &[u8], options: &LogOptions) -> truerun::Result<Recording> {
    let file = tempfile::NamedTempFile::new().unwrap();
    std::fs::write(file.path(), bytes).unwrap();
    read_recording(file.path(), options)
}

fn measured(recording: &Recording) -> Thump {
    analyse(recording, &ThumpOptions::default()).unwrap().0
}

/// One export: how it writes the header, the time and the values.
struct Export {
    name: &'static str,
    head: &'static str,
    row: fn(usize, f64, [f64; 3]) -> String,
    options: LogOptions,
}

const G: f64 = 9.80665;

fn comma(text: String) -> String {
    text.replace('.', ",")
}

fn exports() -> Vec<Export> {
    let plain = LogOptions::default;
    let export = |name, head, row| Export {
        name,
        head,
        row,
        options: plain(),
    };
    vec![
        export("plain", "time_s,ax,ay,az\n", |_, t, [x, y, z]| {
            format!("{t:.3},{x:.4},{y:.4},{z:.4}")
        }),
        export(
            "ms in brackets, g",
            "Time [ms];Acc X [g];Acc Y [g];Acc Z [g]\n",
            |_, t, a| {
                format!(
                    "{:.1};{:.5};{:.5};{:.5}",
                    1e3 * t,
                    a[0] / G,
                    a[1] / G,
                    a[2] / G
                )
            },
        ),
        export(
            "decimal comma, quotes, mark",
            "\u{feff}\"Zeit (s)\";\"X\";\"Y\";\"Z\"\r\n",
            |_, t, a| {
                comma(format!(
                    "\"{t:.3}\";\"{:.4}\";\"{:.4}\";\"{:.4}\"\r",
                    a[0], a[1], a[2]
                ))
            },
        ),
        export(
            "comments, units line, tabs",
            "# our logger\n# second line\ntimestamp\tx\ty\tz\nus\tm/s^2\tm/s^2\tm/s^2\n",
            |_, t, a| format!("{:.0}\t{:.4}\t{:.4}\t{:.4}", 1e6 * t, a[0], a[1], a[2]),
        ),
        export(
            "nanoseconds of the epoch",
            "timestamp,accX,accY,accZ,gyroX,gyroY,gyroZ\n",
            |_, t, a| {
                format!(
                    "{},{:.4},{:.4},{:.4},1,2,3",
                    1_777_617_000_000_000_000u64 + (1e9 * t) as u64,
                    a[0],
                    a[1],
                    a[2]
                )
            },
        ),
        export(
            "wall clock",
            "date and time,acceleration x (m/s²),acceleration y (m/s²),acceleration z (m/s²)\n",
            |_, t, a| {
                format!(
                    "2026-05-01T23:{:02}:{:06.3}Z,{:.4},{:.4},{:.4}",
                    59,
                    30.0 + t,
                    a[0],
                    a[1],
                    a[2]
                )
            },
        ),
        export("clock alone over midnight", "time,x,y,z\n", |_, t, a| {
            let s = (86_390.0 + t) % 86_400.0;
            format!(
                "{:02}:{:02}:{:06.3},{:.4},{:.4},{:.4}",
                (s / 3600.0) as u32,
                (s / 60.0) as u32 % 60,
                s % 60.0,
                a[0],
                a[1],
                a[2]
            )
        }),
        export("no header", "", |_, t, a| {
            format!("{t:.3},{:.4},{:.4},{:.4}", a[0], a[1], a[2])
        }),
        export("long format", "sensor,time,x,y,z\n", |_, t, a| {
            format!(
                "Accelerometer,{t:.3},{:.4},{:.4},{:.4}\nGyroscope,{t:.3},0.1,0.2,0.3",
                a[0], a[1], a[2]
            )
        }),
        export(
            "two times that agree",
            "time,seconds_elapsed,z,y,x\n",
            |_, t, a| {
                format!(
                    "{},{t:.4},{:.4},{:.4},{:.4}",
                    1_777_617_000_000u64 + (1e3 * t) as u64,
                    a[2],
                    a[1],
                    a[0]
                )
            },
        ),
        export("one axis", "t (s),a (m/s2)\n", |_, t, a| {
            format!("{t:.3},{:.4}", a[2])
        }),
        export(
            "linear beside raw",
            "time_s,user_acc_x(g),user_acc_y(g),user_acc_z(g),acc_x(g),acc_y(g),acc_z(g)\n",
            |_, t, a| {
                format!(
                    "{t:.3},0,0,0,{:.5},{:.5},{:.5}",
                    a[0] / G,
                    a[1] / G,
                    a[2] / G
                )
            },
        ),
        Export {
            name: "no time, the rate given",
            head: "x,y,z\n",
            row: |_, _, a| format!("{:.4},{:.4},{:.4}", a[0], a[1], a[2]),
            options: LogOptions {
                rate_hz: Some(100.0),
                ..plain()
            },
        },
        Export {
            name: "columns and unit named",
            head: "p,q,r,s,u\n",
            row: |i, t, a| {
                format!(
                    "{i},{:.3},{:.3},{:.5},{:.5}",
                    t,
                    1e3 * a[0] / G,
                    1e3 * a[1] / G,
                    1e3 * a[2] / G
                )
            },
            options: LogOptions {
                time: Some("q".into()),
                x: Some("r".into()),
                y: Some("s".into()),
                z: Some("5".into()),
                unit: Some(AccelerationUnit::MilliG),
                rate_hz: None,
            },
        },
        export(
            "doubled, lost and fallen rows",
            "time_s,ax,ay,az\n",
            |i, t, a| {
                let row = format!("{t:.3},{:.4},{:.4},{:.4}", a[0], a[1], a[2]);
                match i % 200 {
                    50 => format!("{row}\n{row}"),
                    90 => format!("{t:.3},NaN,inf,"),
                    120 => format!(",{:.4},{:.4},{:.4}", a[0], a[1], a[2]),
                    150 => format!("{:.3},{:.4},{:.4},{:.4}", t - 0.05, a[0], a[1], a[2]),
                    _ => row,
                }
            },
        ),
    ]
}

#[test]
fn every_export_gives_the_same_figures() {
    let pull = Pull::default();
    for export in exports() {
        let mut text = export.head.to_string();
        for (i, (t, axes)) in pull.rows().into_iter().enumerate() {
            writeln!(text, "{}", (export.row)(i, t, axes)).unwrap();
        }
        let recording = read(text.as_bytes(), &export.options)
            .unwrap_or_else(|e| panic!("{}: {e}", export.name));
        let thump = measured(&recording);
        assert_eq!(recording.unit, Unit::MetresPerSecond2, "{}", export.name);
        assert!(
            (recording.recorded_hz - 100.0).abs() < 1.0,
            "{}: {}",
            export.name,
            recording.recorded_hz
        );
        assert!(
            (thump.hz.value.unwrap() - 4.6).abs() < 0.01,
            "{}: {:?}",
            export.name,
            thump.hz
        );
        let along = if export.name == "one axis" { 0.8 } else { 1.0 };
        let rms = along * pull.peak / 2f64.sqrt();
        let off = 20.0 * (thump.rms.value.unwrap() / rms).log10();
        assert!(off.abs() < 0.3, "{}: {off} dB", export.name);
    }
}

#[test]
fn utf16_is_read_too() {
    let bytes: Vec<u8> = std::iter::once(0xFEFFu16)
        .chain(Pull::default().csv().encode_utf16())
        .flat_map(u16::to_le_bytes)
        .collect();
    assert!(
        (measured(&read(&bytes, &LogOptions::default()).unwrap())
            .hz
            .value
            .unwrap()
            - 4.6)
            .abs()
            < 0.01
    );
}

/// A name that ends in a letter of two bytes once cut that letter in half (found by fuzzing).
#[test]
fn names_in_any_letters() {
    let csv = Pull::default()
        .csv()
        .replacen("time_s,", "time_s,qualité,ӆ,", 1);
    let rows: Vec<String> = csv
        .lines()
        .enumerate()
        .map(|(i, row)| match (i, row.split_once(',')) {
            (1.., Some((t, axes))) => format!("{t},1,2,{axes}"),
            _ => row.to_string(),
        })
        .collect();
    let recording = read(rows.join("\n").as_bytes(), &LogOptions::default()).unwrap();
    assert!((measured(&recording).hz.value.unwrap() - 4.6).abs() < 0.01);
}

#[test]
fn a_fast_log_is_thinned_without_a_fold() {
    // 254 Hz would fold to 4 Hz if it were thinned carelessly.
    let mut text = "time_s,a_g\n".to_string();
    for i in 0..20_000 {
        let t = f64::from(i) / 1000.0;
        let a = 0.1 * (std::f64::consts::TAU * 7.0 * t).sin()
            + 0.5 * (std::f64::consts::TAU * 254.0 * t).sin();
        writeln!(text, "{t:.3},{:.6}", 1.0 + a).unwrap();
    }
    let thump = measured(&read(text.as_bytes(), &LogOptions::default()).unwrap());
    assert!(
        (thump.hz.value.unwrap() - 7.0).abs() < 0.01,
        "{:?}",
        thump.hz
    );
    assert!(
        (thump.rms.value.unwrap() / (0.1 * G / 2f64.sqrt()) - 1.0).abs() < 0.03,
        "{:?}",
        thump.rms
    );
}

#[test]
fn bad_logs_in_one_line() {
    let csv = Pull::default().csv();
    let half: Vec<&str> = csv.lines().collect();
    let many = |head: &str, row: fn(usize) -> String| {
        (0..300).fold(head.to_string(), |text, i| text + &row(i) + "\n")
    };
    for (name, text, says) in [
        ("empty", String::new(), "empty"),
        ("header only", half[0].to_string(), "no rows of numbers"),
        ("one row", half[..2].join("\n"), "only one row"),
        ("words", "a,b\nc,d\ne,f\n".repeat(20), "no rows of numbers"),
        (
            "no time",
            many("x,y,z\n", |i| format!("{},2,3", i % 7)),
            "--rate",
        ),
        (
            "two times",
            many("time,timestamp,x\n", |i| {
                format!("{},{},{}", i, i * i, i % 7)
            }),
            "may be the time",
        ),
        (
            "three times",
            many("time,clock,seconds,x\n", |i| format!("{i},{i},{i},1")),
            "may be the time",
        ),
        (
            "no acceleration",
            many("time,temperature,gyro_x\n", |i| format!("{i},20,{}", i % 5)),
            "known as an acceleration",
        ),
        (
            "zeros",
            many("time_ms,x,y,z\n", |i| format!("{},0,0,0", 10 * i)),
            "every value is zero",
        ),
        (
            "all the same",
            many("time_ms,x\n", |i| format!("{},9.8", 10 * i)),
            "the same values",
        ),
        (
            "only NaN",
            many("time_ms,x\n", |i| format!("{},NaN", 10 * i)),
            "",
        ),
        (
            "half of it words",
            many("time_ms,x\n", |i| {
                format!("{},{}", 10 * i, if i % 2 == 0 { "-" } else { "1.5" })
            }),
            "",
        ),
        (
            "time stands",
            many("time_s,x\n", |i| format!("5,{}", i % 9)),
            "does not rise",
        ),
        (
            "up and down",
            half[1..600]
                .iter()
                .chain(half[1..600].iter().rev())
                .fold(half[0].to_string() + "\n", |text, row| text + row + "\n"),
            "does not rise",
        ),
        (
            "a row a minute",
            many("time,x\n", |i| {
                format!(
                    "2026-05-{:02}T{:02}:{:02}:00Z,{}",
                    1 + i / 240,
                    i / 60 % 24,
                    i % 60,
                    i % 7
                )
            }),
            "rows a second",
        ),
        ("short", half[..40].join("\n"), "too short"),
    ] {
        let fault = match read(text.as_bytes(), &LogOptions::default()) {
            Err(e) => e.to_string(),
            Ok(r) => panic!("{name}: read as {} rows", r.rows),
        };
        assert_eq!(fault.lines().count(), 1, "{name}: {fault}");
        assert!(fault.contains(says), "{name}: {fault}");
    }
}

/// A log with its latest row first tells the same as the same rows in order, and says so.
#[test]
fn rows_from_last_to_first_are_turned_round() {
    for rows_hz in [100.0, 1000.0] {
        let csv = Pull {
            rows_hz,
            ..Pull::default()
        }
        .csv();
        let (head, rows) = csv.split_once('\n').unwrap();
        let turned = rows
            .lines()
            .rev()
            .fold(format!("{head}\n"), |text, row| text + row + "\n");
        let in_order = read(csv.as_bytes(), &LogOptions::default()).unwrap();
        let turned = read(turned.as_bytes(), &LogOptions::default()).unwrap();
        assert!(
            turned.warnings.iter().any(|w| w.code() == "descending"),
            "{:?}",
            turned.warnings
        );
        assert!(turned.t_s.windows(2).all(|w| w[1] > w[0]));
        // The same moments hold the same values, wherever thinning begins.
        let at = |r: &truerun::media::Recording, t: f64| {
            let i = r.t_s.partition_point(|x| *x < t - 1e-6);
            (r.t_s[i], r.strips[2].values[i])
        };
        let ((t, a), (u, b)) = (at(&in_order, 5.0), at(&turned, 5.0));
        if rows_hz == 100.0 {
            assert!((t - u).abs() < 1e-6 && a == b, "{t} {a}, {u} {b}");
        }
        let (a, b) = (measured(&in_order), measured(&turned));
        let apart = (a.hz.value.unwrap() / b.hz.value.unwrap() - 1.0).abs();
        assert!(apart < 2e-4, "{apart}");
        assert!((a.rms.value.unwrap() / b.rms.value.unwrap() - 1.0).abs() < 2e-3);
    }
}

#[test]
fn the_row_at_fault_is_named() {
    for end in ["\n", "\r\n"] {
        let csv = Pull::default().csv();
        let mut rows: Vec<String> = csv.lines().map(String::from).collect();
        rows[700] = "7.0,x,y,z".into();
        let recording = read(rows.join(end).as_bytes(), &LogOptions::default()).unwrap();
        let told: Vec<String> = recording.warnings.iter().map(|w| w.text()).collect();
        assert!(told.iter().any(|w| w.contains("row 701")), "{told:?}");
    }
}

#[test]
fn a_sensor_at_the_end_of_its_range_is_told() {
    let mut text = "time_s,x_g,y_g,z_g\n".to_string();
    for (t, [x, y, z]) in (Pull {
        peak: 25.0,
        rows_hz: 200.0,
        ..Pull::default()
    })
    .rows()
    {
        let cut = |v: f64| (v / G).clamp(-2.0, 2.0);
        writeln!(text, "{t:.3},{:.4},{:.4},{:.4}", cut(x), cut(y), cut(z)).unwrap();
    }
    let recording = read(text.as_bytes(), &LogOptions::default()).unwrap();
    assert!(
        recording.warnings.iter().any(|w| w.code() == "clipped"),
        "{:?}",
        recording.warnings
    );
}

/// Real logs of tuning forks and machines (see ../shared/real): the truth lies in the interval.
#[test]
fn real_logs_hold_their_truth() {
    for (file, truth) in [
        ("tuning-ctrl-2__data_vibrations_0.txt", 32.0),
        ("tuning-ctrl-2__data_vibrations_2.txt", 32.0),
        ("tuning-ctrl-2__data_vibrations_4.txt", 64.0),
        ("cooler__freeze.txt", 51.6),
    ] {
        let Some(path) = shared(&format!("real/fork-logs/{file}")) else {
            continue;
        };
        let thump = measured(&read_recording(&path, &LogOptions::default()).unwrap());
        println!("{file}: {:?}", thump.hz);
        let [lo, hi] = thump.hz.ci95.unwrap();
        assert!(
            lo <= truth && truth <= hi,
            "{file}: {lo} to {hi} for {truth}"
        );
        assert!(hi / lo < 1.12, "{file}: {lo} to {hi}");
    }
}

/// With the true rate of the logger given, the forks come out at their pitch.
#[test]
fn real_logs_at_their_true_rate() {
    let options = LogOptions {
        rate_hz: Some(239.6),
        ..LogOptions::default()
    };
    for (file, truth) in [
        ("tuning-ctrl-2__data_vibrations_0.txt", 32.0),
        ("tuning-ctrl-2__data_vibrations_4.txt", 64.0),
    ] {
        let Some(path) = shared(&format!("real/fork-logs/{file}")) else {
            continue;
        };
        let hz = measured(&read_recording(&path, &options).unwrap())
            .hz
            .value
            .unwrap();
        assert!((hz / truth - 1.0).abs() < 0.003, "{file}: {hz}");
    }
}

#[test]
fn the_motor_log_is_in_milliseconds() {
    let Some(path) = shared("real/fork-logs/motor__raw_25_degrees.csv") else {
        return;
    };
    let recording = read_recording(Path::new(&path), &LogOptions::default()).unwrap();
    assert!(recording.time_from.contains("milliseconds"));
    assert!(recording.warnings.iter().any(|w| w.code() == "time_unit"));
}
