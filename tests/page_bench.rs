//! The bench room of the local page, as a browser uses it: tables in by every way, faults at their
//! cells, fits that are those of the command line, and nothing that is sent ends in a broken answer.
#![cfg(feature = "page")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "support/page.rs"]
mod page;

use approx::assert_relative_eq;
use assert_cmd::Command;
use heatset::readings::read_bench_text;
use heatset::readings::write::parquet_bytes;
use page::{Page, Reply, encoded};
use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use std::path::Path;
use std::time::{Duration, Instant};

const DEMO: &str = include_str!("../data/demo_bench.csv");
const NELSON: &str = include_str!("../data/published/nelson.csv");

/// Readings that any law can be fitted to: two temperatures and more, from short to level.
const SMALL: &str = "heat_temp_C,heat_time_min,viscosity_mPa_s,lot\n\
70,5,1.71,A\n70,20,2.39,A\n70,60,5.66,A\n70,120,18.9,A\n70,240,150,A\n\
80,1,1.88,A\n80,5,3.09,A\n80,5,3.31,A\n80,15,12.4,A\n80,30,77.0,A\n80,60,900,A\n\
90,0.5,2.42,A\n90,2,8.35,A\n90,5,86.1,A\n90,5,91.0,A\n90,10,1150,A\n90,20,6100,A\n90,40,7900,A\n90,80,8200,A\n";

/// What this room asks for beside single files and forms.
trait Asking {
    fn part(&self, path: &str, part: &str) -> Reply;
    fn body(&self, path: &str, kind: &str, body: &[u8]) -> Reply;
    fn post_files(
        &self,
        path: &str,
        fields: &[(&str, &str)],
        files: &[(&str, &str, &[u8])],
    ) -> Reply;
}

impl Asking for Page {
    /// One part of a view, as the script asks for it.
    fn part(&self, path: &str, part: &str) -> Reply {
        self.get_with(path, &[("X-Heatset-Part", part)])
    }

    /// Any body, from the page's own origin.
    fn body(&self, path: &str, kind: &str, body: &[u8]) -> Reply {
        let headers = [
            ("Host", self.host()),
            ("Origin", format!("http://{}", self.host())),
            ("Content-Type", kind.to_owned()),
        ];
        self.send("POST", path, &headers, body)
    }

    /// Fields, then field, name and bytes of each file.
    fn post_files(
        &self,
        path: &str,
        fields: &[(&str, &str)],
        files: &[(&str, &str, &[u8])],
    ) -> Reply {
        const EDGE: &str = "----edge-of-a-part-7f3a";
        let mut body = Vec::new();
        for (name, value) in fields {
            body.extend(
                format!(
                    "--{EDGE}\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n{value}\r\n"
                )
                .into_bytes(),
            );
        }
        for (field, name, bytes) in files {
            body.extend(format!("--{EDGE}\r\nContent-Disposition: form-data; name=\"{field}\"; filename=\"{name}\"\r\nContent-Type: application/octet-stream\r\n\r\n").into_bytes());
            body.extend_from_slice(bytes);
            body.extend_from_slice(b"\r\n");
        }
        body.extend(format!("--{EDGE}--\r\n").into_bytes());
        self.body(
            path,
            &format!("multipart/form-data; boundary={EDGE}"),
            &body,
        )
    }
}

trait Answered {
    fn text(&self) -> String;
    fn location(&self) -> &str;
}

impl Answered for Reply {
    fn text(&self) -> String {
        self.body.clone()
    }

    /// Where it leads.
    fn location(&self) -> &str {
        assert_eq!(self.status, 303, "{}", self.body);
        self.header("location").expect("a redirect says where to")
    }
}

fn code_of(address: &str) -> String {
    let path = address.split('?').next().unwrap();
    path.rsplit('/').next().unwrap().to_owned()
}

/// Sends a file and gives the address of its table.
fn table(page: &Page, name: &str, bytes: &[u8]) -> String {
    page.post_files(
        "/bench/table",
        &[("read", "file")],
        &[("file", name, bytes)],
    )
    .location()
    .to_owned()
}

/// Starts a fit and gives its address.
fn fit(page: &Page, table: &str, choices: &[(&str, &str)]) -> String {
    let code = code_of(table);
    let mut pairs = vec![("table", code.as_str())];
    pairs.extend(choices);
    let reply = page.post_form("/bench/fit", &pairs);
    let address = reply.location().to_owned();
    assert!(address.starts_with("/bench/fit/"), "{address}");
    address
}

/// Waits for a fit to end.
fn ended(page: &Page, address: &str) -> Reply {
    let begun = Instant::now();
    loop {
        let part = page.part(address, "progress");
        assert_eq!(part.status, 200);
        if part.text().contains("data-done") {
            return page.get(address);
        }
        assert!(
            begun.elapsed() < Duration::from_secs(240),
            "{}",
            part.text()
        );
        std::thread::sleep(Duration::from_millis(100));
    }
}

/// The calibration that a result's page offers to save.
fn calibration(page: &Page, result: &Reply) -> String {
    let text = result.text();
    let place = text
        .find("/calibrations/")
        .map(|_| ())
        .and_then(|()| {
            text.split("href=\"/calibrations/")
                .find(|part| part.contains(".json\"") && part.find(".json\"").unwrap() < 40)
        })
        .unwrap_or_else(|| panic!("no calibration on {text}"));
    let code = place.split(".json").next().unwrap();
    let saved = page.get(&format!("/calibrations/{code}.json"));
    assert_eq!(saved.status, 200);
    saved.text()
}

/// A document without the moment at which it was made.
fn without_moment(document: &str) -> String {
    let kept: Vec<&str> = document
        .lines()
        .filter(|line| !line.trim_start().starts_with("\"created\""))
        .collect();
    assert_eq!(kept.len() + 1, document.lines().count());
    kept.join("\n")
}

/// What 'heatset fit' writes for these files.
fn fit_on_the_command_line(files: &[(&str, &[u8])], options: &[&str]) -> String {
    let folder = tempfile::tempdir().unwrap();
    for (name, bytes) in files {
        std::fs::write(folder.path().join(name), bytes).unwrap();
    }
    Command::new(env!("CARGO_BIN_EXE_heatset"))
        .current_dir(folder.path())
        .arg("fit")
        .args(files.iter().map(|(name, _)| name))
        .args(["--out", "cal.json"])
        .args(options)
        .assert()
        .success();
    std::fs::read_to_string(folder.path().join("cal.json")).unwrap()
}

/// Names of the fields, and of the rows, that a view marks as faulty.
fn marked(html: &str) -> Vec<String> {
    let mut found = Vec::new();
    for tag in html
        .split('<')
        .filter(|tag| tag.contains("aria-invalid=\"true\""))
    {
        let name = tag.split(" name=\"").nth(1).expect("a field has a name");
        found.push(name.split('"').next().unwrap().to_owned());
    }
    for part in html.split("id=\"w-r-").skip(1) {
        found.push(format!("r-{}", part.split('"').next().unwrap()));
    }
    found
}

#[test]
fn a_fit_of_the_page_is_the_one_that_the_command_line_writes() {
    let page = Page::start(&[]);
    let demo = table(&page, "demo-bench.csv", DEMO.as_bytes());
    let small = table(&page, "small.csv", SMALL.as_bytes());
    type Case<'a> = (&'a str, &'a str, &'a [(&'a str, &'a str)], &'a [&'a str]);
    let cases: [Case<'_>; 6] = [
        (&demo, DEMO, &[], &[]),
        (
            &small,
            SMALL,
            &[
                ("law", "linear"),
                ("errors", "relative"),
                ("order", "auto"),
                ("warm_up", "none"),
            ],
            &["--law", "linear", "--order", "auto"],
        ),
        (
            &small,
            SMALL,
            &[
                ("law", "log"),
                ("warm_up", "lag"),
                ("lag", "20s"),
                ("start_temp", "18C"),
                ("cool_time", "2min"),
                ("ambient", "20C"),
                ("robust", "huber"),
                ("reference_temp", "353.15K"),
            ],
            &[
                "--law",
                "log",
                "--warm-up",
                "20s",
                "--start-temp",
                "18C",
                "--cool-time",
                "2min",
                "--ambient",
                "20C",
                "--robust",
                "huber",
                "--reference-temp",
                "353.15K",
            ],
        ),
        (
            &small,
            SMALL,
            &[
                ("warm_up", "syringe"),
                ("syringe", "1mL"),
                ("contact", "200W/m2K"),
                ("law", "log"),
                ("hold_1", "initial"),
                ("hold_1_value", "1.6mPa.s"),
                ("prior_1", "activation_energy"),
                ("prior_1_value", "250kJ/mol"),
                ("prior_1_sd", "40kJ/mol"),
            ],
            &[
                "--warm-up",
                "syringe:1mL",
                "--contact",
                "200W/m2K",
                "--law",
                "log",
                "--hold",
                "initial=1.6mPa.s",
                "--prior",
                "activation_energy=250kJ/mol:40kJ/mol",
            ],
        ),
        (
            &demo,
            DEMO,
            &[
                ("blend", "plain"),
                ("law", "log"),
                ("yield_stress", "none"),
                ("errors", "absolute"),
            ],
            &[
                "--blend",
                "plain",
                "--law",
                "log",
                "--yield-stress",
                "none",
                "--error",
                "absolute",
            ],
        ),
        (
            &small,
            SMALL,
            &[
                ("law", "log"),
                ("interval", "bootstrap"),
                ("draws", "150"),
                ("before", "set"),
                ("before_time", "10s"),
            ],
            &[
                "--law",
                "log",
                "--interval",
                "bootstrap",
                "--draws",
                "150",
                "--dose-lag",
                "10s",
            ],
        ),
    ];
    for (address, text, choices, options) in cases {
        let kind = if choices.contains(&("interval", "bootstrap")) {
            "bootstrap"
        } else {
            "t"
        };
        let name = if text == DEMO {
            "demo-bench.csv"
        } else {
            "small.csv"
        };
        let result = ended(&page, &fit(&page, address, choices));
        assert!(
            result
                .body
                .contains(&format!("Intervals are {kind} intervals.")),
            "{options:?}"
        );
        assert_eq!(
            without_moment(&calibration(&page, &result)),
            without_moment(&fit_on_the_command_line(
                &[(name, text.as_bytes())],
                options
            )),
            "{options:?}"
        );
    }
}

#[test]
fn several_files_make_one_table_as_on_the_command_line() {
    let page = Page::start(&[]);
    let header = SMALL.lines().next().unwrap();
    // All readings of the one are the same: alone it would be refused, beside the other it counts.
    let unheated = format!("{header}\n70,0,1.6,A\n70,0,1.6,A\n");
    let files: [(&str, &[u8]); 2] = [
        ("small.csv", SMALL.as_bytes()),
        ("unheated.csv", unheated.as_bytes()),
    ];
    let sent = page.post_files(
        "/bench/table",
        &[("read", "file")],
        &files.map(|(name, bytes)| ("file", name, bytes)),
    );
    let result = ended(&page, &fit(&page, sent.location(), &[("law", "log")]));
    assert_eq!(
        without_moment(&calibration(&page, &result)),
        without_moment(&fit_on_the_command_line(&files, &["--law", "log"]))
    );
    // The same twice would count every reading twice.
    let twice = page.post_files(
        "/bench/table",
        &[("read", "file")],
        &[
            ("file", "a.csv", SMALL.as_bytes()),
            ("file", "b.csv", SMALL.as_bytes()),
        ],
    );
    assert!(
        page.get(twice.location())
            .text()
            .contains("hold the same bytes")
    );
}

/// NIST Statistical Reference Datasets, Nonlinear Regression, 'Nelson' (W. Nelson 1981): the certified
/// form ln y = b1 - b2 x1 exp(-b3 x2) is first-order decay to a plateau of 0 at each temperature. With
/// the rate as Arrhenius the optimum, computed to 40 digits by an independent program, is
/// E = 136.748726 kJ/mol, standard error 9.451331, initial exp(2.58854426).
#[test]
fn a_published_bench_typed_into_the_page_gives_the_published_fit() {
    let page = Page::start(&[]);
    let sent = page.post_files(
        "/bench/table",
        &[("read", "text"), ("text", NELSON), ("name", "nelson.csv")],
        &[],
    );
    let choices = [
        ("law", "linear"),
        ("hold_1", "plateau"),
        ("hold_1_value", "0"),
    ];
    let result = ended(&page, &fit(&page, sent.location(), &choices));
    let document: serde_json::Value = serde_json::from_str(&calibration(&page, &result)).unwrap();
    let parameter = |name: &str| {
        document["blends"][0]["parameters"]
            .as_array()
            .unwrap()
            .iter()
            .find(|p| p["name"] == name)
            .unwrap()
            .clone()
    };
    let energy = parameter("activation_energy");
    assert_relative_eq!(
        energy["estimate"].as_f64().unwrap(),
        136_748.726,
        max_relative = 1e-6
    );
    assert_relative_eq!(
        energy["std_error"].as_f64().unwrap(),
        9_451.331,
        max_relative = 1e-5
    );
    assert_relative_eq!(
        parameter("initial")["estimate"].as_f64().unwrap().ln(),
        2.588_544_26,
        max_relative = 1e-6
    );
    assert!(
        result.text().contains("Falls half-way"),
        "{}",
        result.text()
    );
}

/// The cells of a text table as fields of a grid.
fn grid_of(text: &str) -> Vec<(String, String)> {
    let mut fields = Vec::new();
    for (line, row) in text
        .lines()
        .filter(|line| !line.starts_with('#'))
        .enumerate()
    {
        for (column, cell) in row.split(',').enumerate() {
            let name = match line {
                0 => format!("h-{column}"),
                // A row in three is blank, as people leave them.
                _ => format!("c-{}-{column}", line + line / 3),
            };
            fields.push((name, cell.to_owned()));
        }
    }
    fields
}

#[test]
fn a_grid_a_text_and_a_file_of_the_same_rows_are_one_table() {
    let page = Page::start(&[]);
    let by_file = table(&page, "bench.csv", SMALL.as_bytes());
    let pasted = page.post_files("/bench/table", &[("read", "text"), ("text", SMALL)], &[]);
    assert_eq!(pasted.location(), by_file);
    let typed = grid_of(SMALL);
    let fields: Vec<(&str, &str)> = [("read", "grid")]
        .into_iter()
        .chain(
            typed
                .iter()
                .map(|(name, value)| (name.as_str(), value.as_str())),
        )
        .collect();
    assert_eq!(
        page.post_files("/bench/table", &fields, &[]).location(),
        by_file
    );
    // Without a button, whatever there is; with decimal commas said, the numbers are those.
    let with_commas: Vec<(String, String)> = typed
        .iter()
        .map(|(name, value)| (name.clone(), value.replace('.', ",")))
        .chain([("decimal".to_owned(), "comma".to_owned())])
        .collect();
    let fields: Vec<(&str, &str)> = with_commas
        .iter()
        .map(|(name, value)| (name.as_str(), value.as_str()))
        .collect();
    let address = page
        .post_files("/bench/table", &fields, &[])
        .location()
        .to_owned();
    let shown = page.get(&address).text();
    assert!(
        shown.contains("bench.csv can be read: 19 viscosity readings, all used."),
        "{shown}"
    );
    let numbers = |address: &str| {
        let result = ended(&page, &fit(&page, address, &[("law", "log")]));
        let document: serde_json::Value =
            serde_json::from_str(&calibration(&page, &result)).unwrap();
        document["blends"][0]["parameters"].clone()
    };
    assert_eq!(numbers(&address), numbers(&by_file));
}

#[test]
fn every_fault_of_a_broken_table_stands_at_its_cell_and_is_listed_with_a_link_to_it() {
    let page = Page::start(&[]);
    let cases: [(&str, &[&str]); 12] = [
        // A number that is none, and one that is negative.
        (
            "heat_temp_C,heat_time_min,viscosity_mPa_s\n80,1,2\n85,-2,3\n90,4,abc\n",
            &["c-1-1", "c-2-2"],
        ),
        // A comment and a blank line before: lines are those of the file, cells those of the grid.
        (
            "# note\n\nheat_temp_C,heat_time_min,viscosity_mPa_s\n\n80,1,2\n90,,3\n",
            &["c-1-1"],
        ),
        // A row that is too short, one that is too long.
        (
            "heat_temp_C,heat_time_min,viscosity_mPa_s\n80,1,2\n85,2\n90,1,2,3\n",
            &["r-1", "r-2"],
        ),
        // Decimal commas between commas.
        (
            "heat_temp_C,heat_time_min,viscosity_mPa_s\n80,1,\"2,5\"\n90,1,3\n",
            &["c-0-2"],
        ),
        // A header without its unit, and one in a unit of something else.
        (
            "heat_temp,heat_time_Pa,viscosity_mPa_s\n80,1,2\n90,1,3\n",
            &["h-0", "h-1"],
        ),
        // The same header twice: the later one is at fault.
        (
            "heat_temp_C,heat_time_min,viscosity_mPa_s,lot,lot\n80,1,2,A,B\n90,1,3,A,B\n",
            &["h-4"],
        ),
        // A column of values without a header.
        (
            "heat_temp_C,,heat_time_min,viscosity_mPa_s\n80,7,1,2\n90,7,1,3\n",
            &["h-1"],
        ),
        // Two kinds of reading.
        (
            "heat_temp_C,heat_time_min,viscosity_mPa_s,modulus_Pa\n80,1,2,5\n90,1,3,6\n",
            &["h-3"],
        ),
        // Below absolute zero, over one, neither yes nor no, no gauge.
        (
            "heat_temp_C,heat_time_min,viscosity_mPa_s,ha_fraction,use,needle_gauge\n-300,1,2,0.2,yes,27\n80,1,2,20,maybe,27.5\n90,1,3,0.2,no,27\n",
            &["c-0-0", "c-1-3", "c-1-4", "c-1-5"],
        ),
        // Semicolons, a reading of zero.
        (
            "heat_temp_C;heat_time_min;viscosity_mPa_s\n80;1,5;0\n90;2,5;3,5\n",
            &["c-0-2"],
        ),
        // A push through a needle whose barrel is not given in one row.
        (
            "heat_temp_C,heat_time_min,force_N,flow_mL_per_min,needle_gauge,needle_wall,needle_length_mm,barrel_bore_mm\n80,1,5,1,27,regular,13,4.7\n90,1,9,1,27,regular,13,\n",
            &["c-1-7"],
        ),
        // Tabs; a wall that no needle has.
        (
            "heat_temp_C\theat_time_min\tviscosity_mPa_s\tneedle_wall\n80\t1\t2\tthick\n90\t1\t3\tthin\n",
            &["c-0-3"],
        ),
    ];
    for (text, expected) in cases {
        let address = table(&page, "broken.csv", text.as_bytes());
        let html = page.get(&address).text();
        let mut found = marked(&html);
        found.sort();
        let mut wanted: Vec<String> = expected.iter().map(|name| (*name).to_owned()).collect();
        wanted.sort();
        assert_eq!(found, wanted, "{text}\n{html}");
        for name in expected {
            assert!(
                html.contains(&format!("<li><a href=\"#{name}\">")),
                "{name}: {html}"
            );
            assert!(html.contains(&format!("id=\"{name}\"")), "{name}: {html}");
        }
        // The reader's own words, with their count.
        let refused = read_bench_text("broken.csv", text.as_bytes())
            .unwrap_err()
            .to_string();
        let first = refused.lines().next().unwrap();
        assert!(html.contains(first), "{first}: {html}");
    }
}

/// The workbooks of tests/data/workbooks, made by openpyxl (its make.py).
fn workbook(name: &str) -> Vec<u8> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/workbooks");
    std::fs::read(folder.join(name)).unwrap()
}

/// The cells that the reader names are those that the page marks: B2 is the second column of the row
/// under the header.
#[test]
fn every_fault_of_a_workbook_stands_at_its_cell() {
    let page = Page::start(&[]);
    let bytes = workbook("faulty.xlsx");
    let html = page.get(&table(&page, "faulty.xlsx", &bytes)).text();
    let mut found = marked(&html);
    found.sort();
    let of_cells = [
        "c-0-1", "c-1-1", "c-1-2", "c-2-0", "c-2-2", "c-3-2", "c-4-2", "c-5-1", "c-5-3",
    ];
    assert_eq!(found, of_cells, "{html}");
    for name in of_cells {
        assert!(
            html.contains(&format!("<li><a href=\"#{name}\">")),
            "{name}: {html}"
        );
    }
    assert!(html.contains("sheet Bench, cell B2 (heat_time_min)"));
    // Merged cells are told at the first of them.
    let merged = page
        .get(&table(&page, "merged.xlsx", &workbook("merged.xlsx")))
        .text();
    assert!(marked(&merged).contains(&"c-0-0".to_owned()), "{merged}");
}

#[test]
fn another_worksheet_of_a_workbook_can_be_chosen() {
    let page = Page::start(&[]);
    let first = table(&page, "several.xlsx", &workbook("several.xlsx"));
    let html = page.get(&first).text();
    assert!(html.contains("worksheet Session 1"), "{html}");
    assert!(html.contains("<option value=\"Session 2\">Session 2</option>"));
    assert!(html.contains("<option value=\"Old\">Old (hidden)</option>"));
    let code = code_of(&first);
    let chosen = |name: &str| {
        let reply = page.post_form("/bench/worksheet", &[("table", &code), ("worksheet", name)]);
        reply.location().to_owned()
    };
    let second = chosen("Session 2");
    assert_ne!(code_of(&second), code);
    let html = page.get(&second).text();
    assert!(html.contains("several.xlsx, worksheet Session 2"), "{html}");
    assert!(html.contains("5 of them used"), "{html}");
    // One without a table says so and leads back.
    let old = page.get(&chosen("Old")).text();
    assert!(
        old.contains("no column for") && old.contains("Session 1"),
        "{old}"
    );
    assert!(page.get(&chosen("Nowhere")).text().contains("no worksheet"));
    // A blank workbook names the sheet that may be meant, in the words of this page.
    let blank = page.get("/bench/template.xlsx");
    assert_eq!(blank.status, 200);
    let blank = heatset::readings::blank_bench_workbook().unwrap();
    let html = page.get(&table(&page, "blank.xlsx", &blank)).text();
    assert!(
        html.contains("there are no rows under the header"),
        "{html}"
    );
    assert!(
        html.contains("Needle bench") && !html.contains("--worksheet"),
        "{html}"
    );
}

#[test]
fn a_faulty_table_is_mended_in_its_grid_and_what_was_typed_is_kept() {
    let page = Page::start(&[]);
    let broken = SMALL.replace("80,5,3.09,A", "80,5,3.o9,A");
    let html = page
        .get(&table(&page, "small.csv", broken.as_bytes()))
        .text();
    assert_eq!(marked(&html), ["c-6-2"]);
    assert!(html.contains("value=\"3.o9\""));
    let typed = grid_of(SMALL);
    let fields: Vec<(&str, &str)> = [("read", "grid"), ("name", "small-changed.csv")]
        .into_iter()
        .chain(
            typed
                .iter()
                .map(|(name, value)| (name.as_str(), value.as_str())),
        )
        .collect();
    let mended = page
        .post_files("/bench/table", &fields, &[])
        .location()
        .to_owned();
    assert!(
        page.get(&mended)
            .text()
            .contains("small-changed.csv can be read: 19")
    );
}

#[test]
fn the_mark_of_invented_data_goes_with_the_table_whatever_is_done_to_it() {
    let page = Page::start(&[]);
    let sent = page.post_files("/bench/table", &[("read", "example")], &[]);
    let html = page.get(sent.location()).text();
    assert!(html.contains("INVENTED DATA"), "{html}");
    assert!(html.contains("302 viscosity readings"));
    assert!(html.contains("name=\"invented\" value=\"yes\""));
    let invented = format!("# Invented data: nobody took these readings.\n{SMALL}");
    let mut typed = grid_of(&invented);
    typed.push(("invented".to_owned(), "yes".to_owned()));
    typed.push(("read".to_owned(), "grid".to_owned()));
    let fields: Vec<(&str, &str)> = typed
        .iter()
        .map(|(name, value)| (name.as_str(), value.as_str()))
        .collect();
    let changed = page.post_files("/bench/table", &fields, &[]);
    let result = ended(&page, &fit(&page, changed.location(), &[("law", "log")]));
    let html = result.text();
    assert!(html.contains("<body class=\"invented\">"), "{html}");
    assert!(calibration(&page, &result).contains("\"invented\": true"));
    // Real readings are not marked, although the page opens on an invented calibration.
    let real = table(&page, "small.csv", SMALL.as_bytes());
    assert!(!page.get(&real).text().contains("INVENTED"));
    let html = ended(&page, &fit(&page, &real, &[("law", "log")])).text();
    assert!(!html.to_lowercase().contains("invented"), "{html}");
}

#[test]
fn choices_that_cannot_be_taken_are_said_at_their_fields_and_stay_as_typed() {
    let page = Page::start(&[]);
    let address = table(&page, "small.csv", SMALL.as_bytes());
    let code = code_of(&address);
    type Case<'a> = (&'a [(&'a str, &'a str)], &'a [&'a str]);
    let cases: [Case<'_>; 8] = [
        (&[("order", "set"), ("order_value", "9")], &["order_value"]),
        (&[("start_temp", "-300C")], &["start_temp"]),
        (&[("warm_up", "lag"), ("lag", "40")], &["lag"]),
        (
            &[("warm_up", "lag"), ("lag", "40s"), ("contact", "150W/m2K")],
            &["contact"],
        ),
        (
            &[("warm_up", "none"), ("cool_time", "5min")],
            &["cool_time"],
        ),
        (&[("warm_up", "syringe"), ("syringe", "7mL")], &["syringe"]),
        (
            &[
                ("hold_1_value", "390kJ/mol"),
                ("prior_1", "activation_energy"),
                ("prior_1_value", "39O kJ/mol"),
                ("prior_1_sd", "1"),
            ],
            &["hold_1", "prior_1_value"],
        ),
        (
            &[
                ("interval", "bootstrap"),
                ("draws", "99"),
                ("blend", "nobody's"),
            ],
            &["draws"],
        ),
    ];
    for (choices, fields) in cases {
        let mut pairs = vec![("table", code.as_str())];
        pairs.extend(choices);
        let reply = page.post_form("/bench/fit", &pairs);
        assert!(
            reply.location().starts_with(&address),
            "{}",
            reply.location()
        );
        let html = page.get(reply.location()).text();
        assert_eq!(marked(&html), fields, "{choices:?}");
        for (key, value) in choices.iter().filter(|(key, _)| fields.contains(key)) {
            let field = html
                .split('<')
                .find(|tag| tag.contains(&format!("id=\"f-{key}\"")))
                .unwrap();
            let kept = format!("value=\"{value}\"");
            assert!(
                field.contains(&kept) || field.starts_with("select"),
                "{field}"
            );
        }
        assert!(html.contains("The fit was not started"), "{html}");
        // On the page nothing is called by its name on the command line.
        assert!(!html.contains(" --"), "{html}");
    }
}

#[test]
fn readings_that_give_no_calibration_say_why_in_the_words_of_the_page() {
    let page = Page::start(&[]);
    let header = "heat_temp_C,heat_time_min,viscosity_mPa_s";
    let one_temperature =
        format!("{header}\n80,1,2\n80,5,3\n80,10,9\n80,20,40\n80,40,300\n80,60,400\n");
    let few = format!("{header}\n80,1,2\n90,1,3\n");
    for (text, words) in [
        (one_temperature, "The activation energy cannot be found"),
        (few, "cannot be fitted: 2 rows to fit"),
    ] {
        let address = table(&page, "bench.csv", text.as_bytes());
        let result = ended(&page, &fit(&page, &address, &[]));
        assert_eq!(result.status, 200);
        let html = result.text();
        assert!(html.contains(words), "{html}");
        assert!(html.contains("What helps:"), "{html}");
        assert!(!html.contains(" --"), "{html}");
        assert!(
            html.contains(&address),
            "the way back to the choices: {html}"
        );
    }
}

#[test]
fn a_slow_fit_holds_no_answer_and_too_many_are_told_to_wait() {
    let page = Page::start(&[]);
    let address = table(&page, "demo-bench.csv", DEMO.as_bytes());
    // Thousands of bootstrap draws of 302 readings take a minute and more.
    let slow = [("interval", "bootstrap"), ("draws", "20000")];
    let running = fit(&page, &address, &slow);
    let unfinished = || !page.part(&running, "progress").text().contains("data-done");
    for _ in 0..5 {
        assert!(unfinished());
        let begun = Instant::now();
        for path in ["/cautions", "/bench", address.as_str(), running.as_str()] {
            assert_eq!(page.get(path).status, 200, "{path}");
        }
        // Four views, one of them a table of 302 rows, on a machine that others use too.
        assert!(
            begun.elapsed() < Duration::from_secs(6),
            "{:?}",
            begun.elapsed()
        );
    }
    assert!(
        unfinished(),
        "the fit ended before anything was asked beside it"
    );
    let html = page.get(&running).text();
    for words in [
        "http-equiv=\"refresh\"",
        "data-poll=\"progress\"",
        "since it was asked for",
    ] {
        assert!(html.contains(words), "{words}: {html}");
    }
    // The same question again is the same fit; other questions wait, and not without end.
    assert_eq!(fit(&page, &address, &slow), running);
    let code = code_of(&address);
    let mut refused = 0;
    for draws in 19_000..19_010 {
        let draws = draws.to_string();
        let pairs = [
            ("table", code.as_str()),
            ("interval", "bootstrap"),
            ("draws", &draws),
        ];
        let reply = page.post_form("/bench/fit", &pairs);
        match reply.status {
            303 => {}
            422 => {
                refused += 1;
                assert!(
                    reply.text().contains("fits wait or run already"),
                    "{}",
                    reply.text()
                );
            }
            other => panic!("{other}: {}", reply.text()),
        }
    }
    assert_eq!(refused, 5, "six may wait or run");
}

#[test]
fn told_to_stop_the_page_ends_whatever_it_reckons() {
    let page = Page::start(&[]);
    let address = table(&page, "bench.csv", DEMO.as_bytes());
    let fit = fit(
        &page,
        &address,
        &[("interval", "bootstrap"), ("draws", "20000")],
    );
    std::thread::sleep(Duration::from_secs(1));
    assert!(!page.part(&fit, "progress").text().contains("data-done"));
    let took = page.interrupt();
    assert!(took < Duration::from_secs(4), "{took:?}");
}

/// More rows or columns than are shown or read here: words, and a view that stays small.
#[test]
fn long_and_broad_tables_are_refused_in_a_small_view() {
    let page = Page::start(&[]);
    let entry = page.get("/bench").text();
    assert!(entry.contains("100\u{a0}000 rows"), "{entry}");
    let rows = "80,1,2.0\n90,1,50\n".repeat(50_001);
    let long = format!("heat_temp_C,heat_time_min,viscosity_mPa_s\n{rows}");
    let view = page.get(&table(&page, "long.csv", long.as_bytes())).text();
    assert!(view.contains("more than 100000 rows"), "{view}");
    assert!(view.contains("heatset fit"), "{view}");
    let columns: String = (0..400_000).map(|number| format!(",c{number}")).collect();
    let broad = format!("heat_temp_C{columns}\n80,1\n");
    let view = page
        .get(&table(&page, "broad.csv", broad.as_bytes()))
        .text();
    assert!(view.len() < 100_000, "{} bytes", view.len());
    // Columns that mean nothing here are told by the first of them.
    let names: String = (0..700).map(|number| format!(",c{number}")).collect();
    let rows: String = SMALL
        .lines()
        .skip(1)
        .map(|row| format!("{row}{}\n", ",x".repeat(700)))
        .collect();
    let notes = format!("{}{names}\n{rows}", SMALL.lines().next().unwrap());
    let view = page
        .get(&table(&page, "notes.csv", notes.as_bytes()))
        .text();
    assert!(view.contains("c59 and 640 more"), "{view}");
}

#[test]
fn what_to_measure_next_is_what_the_command_line_says() {
    let page = Page::start(&[]);
    let address = table(&page, "demo-bench.csv", DEMO.as_bytes());
    let result = fit(&page, &address, &[("blend", "plain"), ("law", "log")]);
    ended(&page, &result);
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("demo-bench.csv"), DEMO).unwrap();
    let run = |arguments: &[&str]| {
        let output = Command::new(env!("CARGO_BIN_EXE_heatset"))
            .current_dir(folder.path())
            .args(arguments)
            .assert()
            .success();
        String::from_utf8(output.get_output().stdout.clone()).unwrap()
    };
    run(&[
        "fit",
        "demo-bench.csv",
        "--blend",
        "plain",
        "--law",
        "log",
        "--out",
        "cal.json",
    ]);
    let cases: [(&str, &[&str]); 2] = [
        ("", &["next", "cal.json"]),
        (
            "?gauge=27&at=86C&in=3mL&limit=25N",
            &[
                "next",
                "cal.json",
                "--gauge",
                "27",
                "--at",
                "86C",
                "--syringe",
                "3mL",
                "--force",
                "25N",
            ],
        ),
    ];
    for (query, arguments) in cases {
        let part = page.part(&format!("{result}{query}"), "next");
        assert_eq!(part.status, 200);
        let html = part.text().replace("&quot;", "\"");
        assert!(!html.contains("<html"), "only the part is sent");
        let said = run(arguments);
        let until = said.find("Stands on:").unwrap();
        for line in said[..until].lines().filter(|line| !line.trim().is_empty()) {
            assert!(html.contains(line.trim()), "{line}\n{html}");
        }
    }
    let faulty = page.get(&format!("{result}?gauge=27&at=86")).text();
    assert_eq!(marked(&faulty), ["at"]);
    assert!(faulty.contains("has no unit"), "{faulty}");
}

#[test]
fn a_result_has_pictures_a_report_and_units_of_its_readers() {
    let page = Page::start(&[]);
    let address = table(&page, "small.csv", SMALL.as_bytes());
    let result = fit(&page, &address, &[("law", "log")]);
    let html = ended(&page, &result).text();
    for file in ["firmness.svg", "rates.svg", "residuals.svg"] {
        assert!(
            html.contains(&format!("{result}/{file}?blend=plain")),
            "{html}"
        );
        let picture = page.get(&format!("{result}/{file}?blend=plain"));
        assert_eq!(picture.status, 200);
        assert_eq!(picture.header("content-type"), Some("image/svg+xml"));
        assert!(picture.text().starts_with("<?xml") || picture.text().starts_with("<svg"));
    }
    let report = page.get(&format!("{result}/report.html"));
    assert_eq!(report.status, 200);
    assert!(
        report
            .header("content-disposition")
            .unwrap()
            .starts_with("attachment")
    );
    assert!(report.text().contains("Calibration report: small"));
    // 80 °C is 176 °F.
    assert!(
        html.contains("at 80 °C") || html.contains("at 81 °C"),
        "{html}"
    );
    let warm = page.get(&format!("{result}?temp_in=F")).text();
    assert!(
        warm.contains(" °F") && !warm.contains("half-way in 1 min at 80 °C"),
        "{warm}"
    );
    for address in [
        format!("{result}/secrets.svg"),
        format!("{result}/firmness.svg?blend=nobody"),
        "/bench/fit/0123456789ab".to_owned(),
        "/bench/table/..%2f..%2fetc%2fpasswd".to_owned(),
    ] {
        let gone = page.get(&address);
        assert_eq!(gone.status, 404, "{address}");
        assert!(gone.text().contains("What helps:"), "{address}");
    }
}

#[test]
fn what_is_kept_is_limited_and_what_went_says_so() {
    let page = Page::start(&[]);
    let first = table(&page, "first.csv", SMALL.as_bytes());
    for number in 0..20 {
        table(&page, &format!("bench-{number}.csv"), SMALL.as_bytes());
    }
    let gone = page.get(&first);
    assert_eq!(gone.status, 404);
    assert!(
        gone.text().contains("send the table again"),
        "{}",
        gone.text()
    );
    // Sent again, it has the address that it had.
    assert_eq!(table(&page, "first.csv", SMALL.as_bytes()), first);
    assert_eq!(page.get(&first).status, 200);
    let large = vec![b'1'; 8 * 1024 * 1024 + 100_000];
    let refused = page.post_files(
        "/bench/table",
        &[("read", "file")],
        &[("file", "large.csv", &large)],
    );
    assert_eq!(refused.status, 413);
    assert!(refused.text().contains("8 MB"), "{}", refused.text());
    let nothing = page.post_files("/bench/table", &[("read", "file")], &[("file", "", b"")]);
    assert_eq!(nothing.status, 422);
    assert!(nothing.text().contains("No file came along"));
}

#[test]
fn texts_in_other_encodings_and_what_is_no_table_are_refused_in_words() {
    let page = Page::start(&[]);
    let utf16: Vec<u8> = [0xff, 0xfe]
        .into_iter()
        .chain(SMALL.encode_utf16().flat_map(u16::to_le_bytes))
        .collect();
    let mut latin = SMALL.as_bytes().to_vec();
    latin.extend(b"80,6,4,Sk\xe5ne\n");
    let cases: [(&str, Vec<u8>, &str); 7] = [
        ("wide.csv", utf16, "UTF-16"),
        ("latin.csv", latin, "not UTF-8"),
        (
            "zero.csv",
            b"heat_temp_C,heat\0_time_min\n".to_vec(),
            "zero byte",
        ),
        ("old.xls", vec![0xd0, 0xcf, 0x11, 0xe0, 1, 2, 3], "workbook"),
        (
            "damaged.parquet",
            b"PAR1 and nothing else".to_vec(),
            "cannot be read as Parquet",
        ),
        ("empty.csv", Vec::new(), "the table is empty"),
        (
            "<script>alert(1)</script>.csv",
            b"<script>,b\n<img src=x>,2\n".to_vec(),
            "cannot be read",
        ),
    ];
    for (name, bytes, words) in cases {
        let sent = page.post_files(
            "/bench/table",
            &[("read", "file")],
            &[("file", name, &bytes)],
        );
        let reply = page.get(sent.location());
        assert_eq!(reply.status, 200, "{name}");
        let html = reply.text();
        assert!(html.contains(words), "{name}: {html}");
        assert!(
            !html.contains("<script>") && !html.contains("<img src=x"),
            "{name}: {html}"
        );
    }
    // The line of a letter that is none is shown, and marked.
    let html = page
        .get(&table(
            &page,
            "latin.csv",
            b"heat_temp_C,heat_time_min,viscosity_mPa_s,note\n80,1,2,\xe5\n90,1,3,b\n",
        ))
        .text();
    assert_eq!(marked(&html), ["r-0"], "{html}");
}

/// Parquet of a small bench.
fn parquet() -> Vec<u8> {
    parquet_bytes(&read_bench_text("small.csv", SMALL.as_bytes()).unwrap()).unwrap()
}

#[test]
fn a_parquet_table_is_read_and_fitted() {
    let page = Page::start(&[]);
    let bytes = parquet();
    let address = table(&page, "small.parquet", &bytes);
    assert!(
        page.get(&address)
            .text()
            .contains("can be read: 19 viscosity readings")
    );
    let result = ended(&page, &fit(&page, &address, &[("law", "log")]));
    assert_eq!(
        without_moment(&calibration(&page, &result)),
        without_moment(&fit_on_the_command_line(
            &[("small.parquet", &bytes)],
            &["--law", "log"]
        ))
    );
}

#[test]
fn tables_changed_at_random_are_read_or_refused_and_never_break_the_page() {
    let page = Page::start(&[]);
    let mut random = ChaCha8Rng::seed_from_u64(20_261_126);
    let parquet = parquet();
    for round in 0..160 {
        let (name, mut bytes) = if round % 2 == 0 {
            ("bench.csv", SMALL.as_bytes().to_vec())
        } else {
            ("bench.parquet", parquet.clone())
        };
        for _ in 0..random.random_range(1..12) {
            let place = random.random_range(0..bytes.len());
            match random.random_range(0..4) {
                0 => bytes[place] = (random.next_u32() & 0xff) as u8,
                1 => bytes[place] ^= 1 << random.random_range(0..8),
                2 => {
                    bytes.remove(place);
                }
                _ => bytes.insert(place, b",;\"\n\t#-.e9"[random.random_range(0..10)]),
            }
        }
        let address = table(&page, name, &bytes);
        let reply = page.get(&address);
        assert_eq!(reply.status, 200, "round {round}: {}", reply.text());
        let html = reply.text();
        if html.contains("can be read") && round % 5 == 0 {
            let choices = [("table", &*code_of(&address)), ("law", "log")];
            let started = page.post_form("/bench/fit", &choices);
            assert_eq!(ended(&page, started.location()).status, 200);
        }
    }
}

#[test]
fn forms_of_nonsense_are_answered_in_words() {
    let page = Page::start(&[]);
    let small = table(&page, "small.csv", SMALL.as_bytes());
    let result = fit(&page, &small, &[("law", "log")]);
    ended(&page, &result);
    let code = code_of(&small);
    let long = "9".repeat(10_000);
    let nonsense = [
        "",
        " ",
        "NaN",
        "inf",
        "-1",
        "1e308",
        "1e-308",
        "0",
        "1,5",
        "400C",
        "-273.16C",
        "1e400s",
        "22",
        "log",
        "none\n",
        "<b>",
        "%00",
        "\u{0}",
        "ä€𝄞",
        "'; drop",
        "set",
        "lag",
        "fit",
        "syringe",
        "auto",
        "lag:/etc/passwd",
        "/etc/passwd",
        "syringe:1mL",
        "bootstrap",
        "activation_energy",
        "plateau",
        &long,
    ];
    let keys = [
        "law",
        "order",
        "order_value",
        "before",
        "before_time",
        "yield_stress",
        "warm_up",
        "lag",
        "syringe",
        "contact",
        "start_temp",
        "cool_time",
        "ambient",
        "errors",
        "robust",
        "interval",
        "draws",
        "blend",
        "reference_temp",
        "hold_1",
        "hold_1_value",
        "prior_1",
        "prior_1_value",
        "prior_1_sd",
        "more",
        "air",
        "table",
        "unknown",
    ];
    let mut random = ChaCha8Rng::seed_from_u64(7);
    let pick = |random: &mut ChaCha8Rng| nonsense[random.random_range(0..nonsense.len())];
    for round in 0..60 {
        let mut pairs: Vec<(&str, &str)> = vec![("table", &code)];
        for _ in 0..random.random_range(1..6) {
            pairs.push((keys[random.random_range(0..keys.len())], pick(&mut random)));
        }
        if pairs.iter().any(|(_, value)| *value == "bootstrap") {
            pairs.push(("draws", "100"));
        }
        let reply = page.post_form("/bench/fit", &pairs);
        assert!(
            matches!(reply.status, 303 | 404 | 422),
            "{pairs:?}: {} {}",
            reply.status,
            reply.text()
        );
        if reply.status == 303 {
            let to = reply.location().to_owned();
            let followed = if to.starts_with("/bench/fit") {
                ended(&page, &to)
            } else {
                page.get(&to)
            };
            assert_eq!(followed.status, 200, "{pairs:?}: {}", followed.text());
        }
        let sheet = page.post_form(
            "/bench/worksheet",
            &[("table", &code), ("worksheet", pick(&mut random))],
        );
        // The table that it names goes as others come.
        assert!(matches!(sheet.status, 303 | 404), "{}", sheet.status);
        if sheet.status == 303 {
            assert_eq!(page.get(sheet.location()).status, 200);
        }
        let mut query: Vec<String> = Vec::new();
        for key in ["gauge", "at", "in", "limit", "blend", "temp_in"] {
            if random.random_bool(0.5) {
                query.push(format!("{key}={}", encoded(pick(&mut random))));
            }
        }
        let asked = page.get(&format!("{result}?{}", query.join("&")));
        assert_eq!(
            asked.status,
            200,
            "round {round}, {query:?}: {}",
            asked.text()
        );
        let mut fields = vec![
            ("read", pick(&mut random)),
            ("name", pick(&mut random)),
            ("text", pick(&mut random)),
        ];
        fields.push(("h-0", pick(&mut random)));
        fields.push(("c-99999999999999999999-1", "1"));
        fields.push(("c-4999-59", pick(&mut random)));
        let sent = page.post_files("/bench/table", &fields, &[]);
        assert!(
            matches!(sent.status, 303 | 422),
            "{fields:?}: {} {}",
            sent.status,
            sent.text()
        );
        if sent.status == 303 {
            assert_eq!(page.get(sent.location()).status, 200, "{fields:?}");
        }
    }
    // Bodies that are no forms.
    for (kind, body) in [
        ("multipart/form-data", &b"no boundary"[..]),
        ("multipart/form-data; boundary=x", b"--x\r\nbroken"),
        ("text/plain", b"heat"),
        ("application/x-www-form-urlencoded", b"%ff%fe=%zz&&&=="),
    ] {
        for path in ["/bench/table", "/bench/fit"] {
            let reply = page.body(path, kind, body);
            assert!(
                matches!(reply.status, 404 | 422),
                "{path}, {kind}: {} {}",
                reply.status,
                reply.text()
            );
            assert!(reply.text().contains("What helps:"), "{path}, {kind}");
        }
    }
}

#[test]
fn a_blank_table_can_be_had_and_every_view_says_the_cautions() {
    let page = Page::start(&[]);
    let blank = page.get("/bench/template.csv");
    assert_eq!(blank.status, 200);
    assert!(
        blank
            .text()
            .contains("heat_temp_C,heat_time_min,viscosity_Pa_s")
    );
    assert!(
        Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("data/demo_bench.csv")
            .exists()
    );
    for path in [
        "/bench".to_owned(),
        table(&page, "small.csv", SMALL.as_bytes()),
    ] {
        let html = page.get(&path).text();
        assert!(html.contains("not a medical device"), "{path}");
        assert_eq!(html.matches("<h1").count(), 1, "{path}");
    }
}
