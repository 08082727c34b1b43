//! The blank bench table, every column explained in the words of the bench.

/// A blank bench table as text: comment lines that explain every column, then the header.
/// Fill in one row a reading below it.
pub fn blank_bench_table() -> &'static str {
    BLANK
}

/// The headers of the blank table, in order.
#[cfg(feature = "tables")]
pub(crate) fn template_headers() -> impl Iterator<Item = &'static str> {
    BLANK.lines().last().unwrap_or_default().split(',')
}

/// One column that is understood, explained.
#[cfg(feature = "tables")]
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Explained {
    /// Its header.
    pub column: &'static str,
    /// Other headers of the same.
    pub also: &'static str,
    /// Where it is needed.
    pub needed: &'static str,
    /// Its unit, or text.
    pub unit: &'static str,
    /// What it is.
    pub explanation: &'static str,
    /// What a cell must be.
    pub asks: &'static str,
}

/// Every column that is understood, explained in the words of the bench.
#[cfg(feature = "tables")]
pub(crate) fn explained_columns() -> &'static [Explained] {
    &EXPLAINED
}

#[cfg(feature = "tables")]
const fn column(
    column: &'static str,
    also: &'static str,
    needed: &'static str,
    unit: &'static str,
    explanation: &'static str,
    asks: &'static str,
) -> Explained {
    Explained {
        column,
        also,
        needed,
        unit,
        explanation,
        asks,
    }
}

#[cfg(feature = "tables")]
#[rustfmt::skip]
static EXPLAINED: [Explained; 34] = [
    column("heat_temp_C", "heat_temp_K, heat_temp_F", "always", "°C", "Temperature that the block was set to.", "A number of degrees Celsius, without the unit."),
    column("heat_time_min", "heat_time_s, heat_time_h", "always", "min", "Heat time on the clock, from putting the syringe in. A plain number: 6 min 30 s is 6.5, never 6:30. 0 for an unheated syringe, which is well worth reading.", "A number of minutes from 0 on: 6 min 30 s is 6.5."),
    column("viscosity_Pa_s", "viscosity_mPa_s, viscosity_cP", "one kind of reading", "Pa s", "The reading. One kind of reading a table: viscosity, or one of modulus, force, run_time and firmness instead.", "A number above zero, without the unit."),
    column("modulus_Pa", "modulus_kPa", "one kind of reading", "Pa", "The reading: storage modulus.", "A number above zero."),
    column("force_N", "force_gf", "one kind of reading", "N", "The reading: plunger force. The needle columns go with it.", "A number above zero."),
    column("run_time_s", "run_time_min, run_time_h", "one kind of reading", "s", "The reading: time of a volume under a dead weight. dead_weight, run_volume and the needle columns go with it.", "A number above zero."),
    column("firmness_au", "", "one kind of reading", "its own", "The reading: any other number that changes as the gel sets, in its own unit.", "A number."),
    column("reading_sd", "", "no", "of the reading", "Standard deviation of the reading, in the unit of the reading.", "A number above zero."),
    column("shear_rate_per_s", "", "no", "1/s", "Shear rate of the viscosity reading.", "A number above zero."),
    column("lot", "", "no", "text", "Code of the donor draw. Never a name, a date of birth or a record number.", "A code."),
    column("blend", "", "no", "text", "Name of what is in the syringe, such as plain.", "A name."),
    column("ha_fraction", "", "no", "1", "Volume fraction of hyaluronic acid solution, 0 to 1: 20 % is 0.2.", "A number from 0 to 1: 20 % is 0.2."),
    column("read_temp_C", "read_temp_K, read_temp_F", "no", "°C", "Temperature of the gel when it was read.", "A number of degrees Celsius."),
    column("stand_time_min", "stand_time_s, stand_time_h", "no", "min", "How long it stood after cooling, before the reading.", "A number of minutes from 0 on."),
    column("stand_temp_C", "stand_temp_K, stand_temp_F", "no", "°C", "Temperature while it stood.", "A number of degrees Celsius."),
    column("operator", "", "no", "text", "Code of who read it.", "A code."),
    column("block", "", "no", "text", "Code of the block.", "A code."),
    column("place", "", "no", "text", "Code of the place in the block.", "A code."),
    column("session", "", "no", "text", "Code of the day or session.", "A code."),
    column("use", "", "no", "text", "yes or no; no leaves the row out of the fit, and it is still drawn.", "yes or no."),
    column("note", "", "no", "text", "Any text.", "Any text."),
    column("flow_mL_per_min", "", "with force", "mL/min", "How fast it was pushed.", "A number above zero."),
    column("dead_weight_g", "dead_weight_kg", "with run_time", "g", "All that pressed on the plunger, plunger and dish included.", "A number above zero."),
    column("run_volume_mL", "", "with run_time", "mL", "The volume that was timed.", "A number above zero."),
    column("needle_gauge", "", "with force or run_time", "gauge", "Gauge of the needle, such as 27.", "A whole gauge from 5 to 40."),
    column("needle_wall", "", "with force or run_time", "text", "Wall of the needle: regular, thin, extra-thin or ultra-thin.", "regular, thin, extra-thin or ultra-thin."),
    column("needle_bore_mm", "", "no", "mm", "Instead of gauge and wall, where the bore was measured.", "A number above zero."),
    column("needle_bore_sd_mm", "", "no", "mm", "Standard deviation of the measured bore.", "A number from 0 on."),
    column("needle_length_mm", "", "with force or run_time", "mm", "Length of the needle.", "A number above zero."),
    column("barrel_bore_mm", "", "with force or run_time", "mm", "Bore of the syringe barrel.", "A number above zero."),
    column("friction_N", "friction_gf", "no", "N", "Force that moves the stopper; leave it out where the table has pushes with an empty barrel.", "A number from 0 on."),
    column("content", "", "no", "text", "gel (or blank), or a push without gel, with the heat columns blank: empty (an empty barrel: the friction), water (its temperature in read_temp_C), known (a liquid of known viscosity: it tells the needle's bore).", "gel, empty, water or known."),
    column("content_viscosity_mPa_s", "content_viscosity_Pa_s, content_viscosity_cP", "with content known", "mPa s", "Viscosity of the known liquid at its push.", "A number above zero."),
    column("content_viscosity_sd_mPa_s", "content_viscosity_sd_Pa_s, content_viscosity_sd_cP", "no", "mPa s", "Its standard deviation; left out, the viscosity counts as exact.", "A number from 0 on."),
];

const BLANK: &str = "\
# Bench table. One row a reading; lines that begin with # are comments.
# Separate with commas and write a decimal point; with decimal commas separate with semicolons.
# Leave a cell empty where nothing is known. Delete columns that you do not use.
#
# Needed in every row
#   heat_temp_C      temperature that the block was set to (or heat_temp_K, heat_temp_F)
#   heat_time_min    heat time on the clock, from putting the syringe in (or heat_time_s, heat_time_h);
#                    0 for an unheated syringe, which is well worth reading
#   viscosity_Pa_s   the reading (or viscosity_mPa_s, viscosity_cP). One kind of reading a table; instead of it:
#                    modulus_Pa or modulus_kPa   storage modulus
#                    force_N or force_gf         plunger force, with the needle columns below
#                    run_time_s or run_time_min  time of a volume under a dead weight, with its columns below
#                    firmness_au                 any other number that changes as the gel sets, in its own unit
#
# Worth filling in
#   shear_rate_per_s shear rate of the viscosity reading
#   lot              code of the donor draw. Never a name, a date of birth or a record number
#   blend            name of what is in the syringe, such as plain
#   ha_fraction      volume fraction of hyaluronic acid solution, 0 to 1 (20 % is 0.2)
#   read_temp_C      temperature of the gel when it was read (or read_temp_K, read_temp_F)
#   stand_time_min   how long it stood after cooling, before the reading (or stand_time_s, stand_time_h)
#   stand_temp_C     temperature while it stood (or stand_temp_K, stand_temp_F)
#   operator, block, place, session   codes of who, which block, which place in it, which day
#   reading_sd       standard deviation of the reading, in the unit of the reading
#   use              yes or no; no leaves the row out of the fit, and it is still drawn
#   note             any text
#
# Without a rheometer a needle is the viscometer: push and read the force, or load and time.
# With force_N or force_gf also add
#   flow_mL_per_min  how fast it was pushed
# With run_time_s or run_time_min also add
#   dead_weight_g    all that pressed on the plunger, plunger and dish included (or dead_weight_kg)
#   run_volume_mL    the volume that was timed
# With either also add
#   needle_gauge     gauge, such as 27
#   needle_wall      regular, thin, extra-thin or ultra-thin
#   needle_bore_mm   instead of gauge and wall, where the bore was measured; needle_bore_sd_mm is its
#                    standard deviation
#   needle_length_mm length of the needle
#   barrel_bore_mm   bore of the syringe barrel
#   friction_N       force that moves the stopper (or friction_gf); leave it out where the table has
#                    pushes with an empty barrel
#   content          gel (or blank), or a push without gel, with the heat columns blank:
#                    empty   the least force or weight that moves the empty barrel's plunger steadily: the
#                            friction for the rows of this barrel (and of this session, where named)
#                    water   the same with water, its temperature in read_temp_C; beside an empty push it
#                            tells the needle's bore, where it can
#                    known   a liquid of known viscosity: it tells the needle's bore
#   content_viscosity_mPa_s   viscosity of that liquid (or content_viscosity_Pa_s), and
#   content_viscosity_sd_mPa_s its standard deviation; left out, the viscosity counts as exact
# Read each gel at two rates or under two weights, a factor of three apart in rate, and a few
# through two lengths of one gauge: that tells how far it thins, and what the needle's ends take.
# heatset convert shows what the readings come to.
#
# Without any instrument a table can say what was seen, in place of a reading:
#   seen             set or not-set, when the syringe was looked at after heat_time
#   criterion        what counted as set: bubble stays, column no longer runs, step 4 on the contrast card.
#                    One name in all rows, or several; an answer is for one of them
#   syringe          code of a syringe that was put back and looked at again: the same code on each of its
#                    rows (of one lot, session, temperature). Without a code every row is another syringe
# Look at several syringes at times when some have set and some have not, at three temperatures; choose
# the times beforehand. A row with force_N and its needle's columns, seen left empty or not, anchors the
# table to one force. heatset fit then says when the gel sets, and heatset time answers from that.
#
# A good first table: three temperatures ten degrees apart, six heat times each from short to
# long enough that the readings level off, a few of them twice, two lots or more.
heat_temp_C,heat_time_min,viscosity_Pa_s,shear_rate_per_s,lot,blend,ha_fraction,read_temp_C,stand_time_min,stand_temp_C,operator,block,place,session,reading_sd,use,note
";
