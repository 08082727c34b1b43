//! The cautions: two lines where an answer is shown, the whole text on request.

/// The two lines that stand under every answer.
pub const SHORT: &str = "\
Bench and teaching aid, not a medical device: says what passes a needle, not what is fit to inject.
Local codes and the licensed practitioner's judgement rule.   heatset cautions";

/// One caution: what it is about, and what it says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Caution {
    /// What it is about.
    pub about: &'static str,
    /// What it says.
    pub text: &'static str,
}

/// All cautions, in the order in which they are read.
pub const ALL: [Caution; 9] = [
    Caution {
        about: "What this is",
        text: "A bench and teaching aid, not a medical device. It says what passes a needle. It says nothing about sterility (this heating does not sterilise), identity, suitability, dose, vessels, or how a gel behaves after injection.",
    },
    Caution {
        about: "Who decides",
        text: "Local codes and the licensed practitioner's judgement rule. The regulatory status of heated, stored or blended blood products is a local matter.",
    },
    Caution {
        about: "Whose material",
        text: "The donor's own material only. Code every place in the block, and check identity before and after.",
    },
    Caution {
        about: "Blood",
        text: "Universal precautions. No recapping by hand.",
    },
    Caution {
        about: "Heat",
        text: "The block, the barrel, the cap and the gel are hot, and the core stays hot longer than the wall feels. Let the gel cool until the stated temperature before it is handed on.",
    },
    Caution {
        about: "Closed syringes",
        text: "A closed syringe builds up pressure when it is heated, from trapped air and vapour. Expel the air before heating. Carbon dioxide freed by a buffer must leave before the cap goes on. Answers stop at 99 °C, lower at altitude.",
    },
    Caution {
        about: "Pushing",
        text: "Use a locking joint. Never force a needle that is blocked, and never push harder to make an answer come true: a wider needle, a slower push, a smaller syringe or less heat are the ways out.",
    },
    Caution {
        about: "What is not known",
        text: "An answer is as good as the readings behind it. Another lot, another block, another needle can differ by more than the interval says where they were not measured. Extrapolated answers and answers from invented data are marked, and are no ground for use.",
    },
    Caution {
        about: "Storing",
        text: "Times for storing that go round in the trade are common practice without a microbiological basis. No answer here is a shelf life or a use-by time.",
    },
];

/// The whole text.
#[must_use]
pub fn full_text() -> String {
    let mut text = String::from("Cautions\n");
    for caution in ALL {
        text.push_str("\n  ");
        text.push_str(caution.about);
        text.push('\n');
        for line in wrapped(caution.text, 84) {
            text.push_str("    ");
            text.push_str(&line);
            text.push('\n');
        }
    }
    text
}

/// Breaks a text into lines of at most `width` characters, at blanks.
fn wrapped(text: &str, width: usize) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if line.chars().count() + 1 + word.chars().count() <= width => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
