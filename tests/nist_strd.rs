//! The general least-squares engine against certified nonlinear regressions.
//!
//! Source: NIST Statistical Reference Datasets, Nonlinear Regression (public domain),
//! <https://www.itl.nist.gov/div898/strd/nls/nls_main.shtml>; data, starts, certified parameters
//! and their standard deviations in `tests/data/nist_strd.json` (figures as carried by the Python
//! package lmfit 1.3.4, folder NIST_STRD). `polished` there is the same optimum to 16 digits,
//! computed with multiple precision (mpmath). Derivatives come from dual numbers (crate num-dual),
//! so that neither the engine nor the models' derivatives are ours alone.
#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "support/nist.rs"]
mod nist;

use heatset::fit::least_squares::{Settings, Termination, minimize};
use nist::{Regression, digits, references, table};

#[test]
fn all_27_problems_are_solved_from_both_starts_and_none_is_claimed_falsely() {
    let lines = table();
    assert_eq!(lines.len(), 54);
    let mut text = String::new();
    for line in &lines {
        text += &format!(
            "{:10} {} {:?} {:5.1} {:5.1} {}\n",
            line.name,
            line.start,
            line.termination,
            line.digits,
            line.error_digits,
            line.iterations
        );
    }
    println!("{text}");
    let six = lines.iter().filter(|l| l.digits >= 6.0).count();
    let eight = lines.iter().filter(|l| l.digits >= 8.0).count();
    let false_claims = lines
        .iter()
        .filter(|l| l.termination.was_successful() && l.digits < 6.0)
        .count();
    assert_eq!(false_claims, 0, "{text}");
    assert_eq!(six, 54, "{text}");
    assert!(eight >= 50, "{eight}\n{text}");
    for line in &lines {
        // Lanczos1: its residuals are the rounding of its eleven printed digits.
        let floor = if line.name == "Lanczos1" { 3.0 } else { 6.0 };
        assert!(
            line.error_digits >= floor,
            "{} {}\n{text}",
            line.name,
            line.start
        );
    }
}

/// The certified values, not only the polished ones: NIST prints eleven digits.
#[test]
fn the_five_problems_named_for_every_build_agree_with_the_printed_values() {
    let wanted = ["Misra1a", "Misra1b", "BoxBOD", "MGH10", "Thurber"];
    let mut seen = 0;
    for reference in references()
        .iter()
        .filter(|r| wanted.contains(&r.name.as_str()))
    {
        for start in &reference.starts {
            let minimum = minimize(Regression::new(reference), start, Settings::default());
            assert_eq!(
                minimum.termination,
                Termination::Converged,
                "{}",
                reference.name
            );
            let correct = digits(&minimum.parameters, &reference.certified);
            assert!(correct >= 8.0, "{} {correct}", reference.name);
            seen += 1;
        }
    }
    assert_eq!(seen, 10);
}

/// BoxBOD's first start lies before a plateau where the second parameter has no effect any more.
#[test]
fn a_search_that_is_held_on_the_plateau_does_not_claim_success() {
    let all = references();
    let reference = all.iter().find(|r| r.name == "BoxBOD").unwrap();
    let (minimum, _) = heatset::fit::least_squares::minimize_from(
        Regression::new(reference),
        &[172.0, 60.0],
        Settings::default(),
    );
    assert!(
        !minimum.termination.was_successful(),
        "{:?}",
        minimum.termination
    );
}
