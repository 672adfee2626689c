//! What comes late or unasked never becomes the answer to the next question.

use super::*;

const TWO: &str = "0,\"No error\";0,\"No error\"";
const THREE: &str = "0,\"No error\";0,\"No error\";0,\"No error\"";
const ASK_TWO: &str = "SYST:ERR?;:SYST:ERR?";
const ASK_THREE: &str = "SYST:ERR?;:SYST:ERR?;:SYST:ERR?";

/// On the network the late answer is sent down the new connection, as a box between network and serial port would.
#[test]
fn an_answer_after_the_time_is_passed_over() {
    let script =
        [hear("MEAS:RES?"), hear("SYST:ERR?"), say("111"), say(NO_ERROR), hear("MEAS:RES?"), say("2")];
    on_each(400, &script, |meter| {
        assert_eq!(ohms(meter), Err(no_answer("MEAS:RES?", "0.4")));
        assert_eq!(ohms(meter), Ok(Shown::Value(2.0)));
    });
}

#[test]
fn an_answer_in_two_halves_around_the_end_of_the_time_is_passed_over() {
    let half = Act::Say(b"11".to_vec());
    let script =
        [hear("MEAS:RES?"), half, hear("SYST:ERR?"), say("1"), say(NO_ERROR), hear("MEAS:RES?"), say("2")];
    on_each(400, &script, |meter| {
        assert_eq!(ohms(meter), Err(no_answer("MEAS:RES?", "0.4")));
        assert_eq!(ohms(meter), Ok(Shown::Value(2.0)));
    });
}

/// The answer to the first question about errors comes late as well; it does not end the doubt, the second one does.
#[test]
fn an_answer_that_comes_only_with_the_next_question_is_passed_over() {
    let script = [
        hear("MEAS:RES?"),
        hear("SYST:ERR?"),
        hear(ASK_TWO),
        say("111"),
        say(NO_ERROR),
        say(TWO),
        hear("MEAS:RES?"),
        say("2"),
    ];
    on_each(400, &script, |meter| {
        assert_eq!(ohms(meter), Err(no_answer("MEAS:RES?", "0.4")));
        assert_eq!(ohms(meter), Ok(Shown::Value(2.0)));
    });
}

/// An answer that cannot be read is a doubt of its own, and the unanswered question about errors a second one.
#[test]
fn an_answer_about_errors_that_comes_only_with_the_next_question_is_passed_over() {
    let script = [
        hear("MEAS:RES?"),
        say("?"),
        hear("SYST:ERR?"),
        hear(ASK_TWO),
        say("111"),
        say(NO_ERROR),
        say(TWO),
        hear("MEAS:RES?"),
        say("2"),
    ];
    on_each(400, &script, |meter| {
        assert_eq!(ohms(meter), Err(unreadable("MEAS:RES?", "?")));
        assert_eq!(ohms(meter), Ok(Shown::Value(2.0)));
    });
}

/// The meter falls silent while its list of errors is being taken, after its first entry.
#[test]
fn a_list_of_errors_that_breaks_off_is_a_doubt() {
    let script = [
        hear("MEAS:RES?"),
        say("?"),
        hear("SYST:ERR?"),
        say("-230,\"Data corrupt or stale\""),
        hear("SYST:ERR?"),
        hear(ASK_TWO),
        say(NO_ERROR),
        say(TWO),
        hear("MEAS:RES?"),
        say("2"),
    ];
    on_each(400, &script, |meter| {
        assert_eq!(ohms(meter), Err(own(unreadable("MEAS:RES?", "?"), "-230 Data corrupt or stale")));
        assert_eq!(ohms(meter), Ok(Shown::Value(2.0)));
    });
}

/// While the doubt lasts nothing is read: the answers seen so far may all belong to earlier questions.
#[test]
fn in_doubt_there_is_no_reading() {
    let script = [
        hear("MEAS:RES?"),
        hear("SYST:ERR?"),
        hear(ASK_TWO),
        say("111"),
        say(NO_ERROR),
        hear(ASK_THREE),
        say(TWO),
        say(THREE),
        hear("MEAS:RES?"),
        say("2"),
    ];
    on_each(400, &script, |meter| {
        assert_eq!(ohms(meter), Err(no_answer("MEAS:RES?", "0.4")));
        assert_eq!(ohms(meter), Err(no_answer(ASK_TWO, "0.4")));
        assert_eq!(ohms(meter), Ok(Shown::Value(2.0)));
    });
}

/// More may be under way, so the list of errors is asked for before the next reading.
#[test]
fn a_second_line_is_thrown_away_before_the_next_question() {
    let script = [
        hear("MEAS:RES?"),
        say("1\n111"),
        hear("SYST:ERR?"),
        say("111"),
        say(NO_ERROR),
        hear("MEAS:RES?"),
        say("2"),
    ];
    on_each(AMPLE, &script, |meter| {
        assert_eq!(ohms(meter), Ok(Shown::Value(1.0)));
        assert_eq!(ohms(meter), Ok(Shown::Value(2.0)));
    });
}

/// More than is thrown away at once: whether or not it is all there in time, none of it is taken for a reading.
#[test]
fn a_flood_of_readings_unasked_is_passed_over() {
    let flood = format!("1\n{}", "111\n".repeat(20_000));
    let script = [
        hear("MEAS:RES?"),
        Act::Say(flood.into_bytes()),
        hear("SYST:ERR?"),
        say(NO_ERROR),
        hear("MEAS:RES?"),
        say("2"),
    ];
    on_each(AMPLE, &script, |meter| {
        assert_eq!(ohms(meter), Ok(Shown::Value(1.0)));
        assert_eq!(ohms(meter), Ok(Shown::Value(2.0)));
    });
}

#[test]
fn after_an_answer_that_cannot_be_read_its_further_lines_are_passed_over() {
    let script = [
        hear("MEAS:RES?"),
        say("READING:\n111"),
        hear("SYST:ERR?"),
        say("111"),
        say(NO_ERROR),
        hear("MEAS:RES?"),
        say("2"),
    ];
    on_each(AMPLE, &script, |meter| {
        assert_eq!(ohms(meter), Err(unreadable("MEAS:RES?", "READING:")));
        assert_eq!(ohms(meter), Ok(Shown::Value(2.0)));
    });
}
