//! Reading the work (rule 5): splits, steadiness, fade and pace.

use crate::score::Tally;
use crate::time::Span;

/// The middle one of some spans, or the mean of the middle two; none of none.
pub fn median(spans: &[Span]) -> Option<Span> {
    let mut sorted = spans.to_vec();
    sorted.sort_unstable();
    let middle = sorted.len() / 2;
    let upper = *sorted.get(middle)?;
    if sorted.len() % 2 == 1 {
        return Some(upper);
    }
    Some(Span::from_micros(i64::midpoint(sorted[middle - 1].as_micros(), upper.as_micros())))
}

/// Steadiness: sample standard deviation over mean of the splits; none for fewer than two.
pub fn steadiness(splits: &[Span]) -> Option<f64> {
    if splits.len() < 2 {
        return None;
    }
    let mean = mean(splits);
    let squares: f64 = splits.iter().map(|split| (split.as_secs_f64() - mean).powi(2)).sum();
    Some((squares / (splits.len() - 1) as f64).sqrt() / mean)
}

/// Fade: how much slower the last third of the splits is than the first; none for fewer than three.
pub fn fade(splits: &[Span]) -> Option<f64> {
    let third = splits.len() / 3;
    if third == 0 {
        return None;
    }
    Some(mean(&splits[splits.len() - third..]) / mean(&splits[..third]) - 1.0)
}

fn mean(spans: &[Span]) -> f64 {
    spans.iter().map(|span| span.as_secs_f64()).sum::<f64>() / spans.len() as f64
}

/// What a window ends at if the pace of the last three splits holds: rounds done, plus the time
/// left since the last round over the median of those splits (rule 5.2). A part of a round is given
/// in reps, rounded down. None before there is a split.
pub fn on_pace_for(
    rounds: u32,
    last_round: Span,
    window: Span,
    splits: &[Span],
    round_reps: u32,
) -> Option<Tally> {
    let usual = median(&splits[splits.len().saturating_sub(3)..])?;
    if usual <= Span::ZERO {
        return None;
    }
    let left = (window - last_round).at_least_zero().as_micros();
    let more = left / usual.as_micros();
    let part = (left % usual.as_micros()).saturating_mul(i64::from(round_reps)) / usual.as_micros();
    Some(Tally::Rounds {
        rounds: rounds.saturating_add(u32::try_from(more).ok()?),
        extra: u32::try_from(part).ok()?,
    })
}

/// What a count by ones ends at if the rate of its last minute holds (rule 3.9).
pub fn on_rate_for(done: u32, in_last_minute: u32, left: Span) -> u32 {
    let more = left.at_least_zero().as_micros() * i64::from(in_last_minute)
        / Span::from_mins(1).as_micros();
    done.saturating_add(u32::try_from(more).unwrap_or(u32::MAX))
}

/// Rounds from which a fade says something.
const FADE_FROM_ROUNDS: usize = 6;

/// By how much a fade is above the class's median before the coach is shown it *(cp)*.
const FADE_OVER: f64 = 0.15;

/// Who fades: at least six rounds, and a fade 15 points above the class's median (rule 5.3). One
/// answer for each person's splits.
pub fn who_fades(splits: &[&[Span]]) -> Vec<bool> {
    let fades: Vec<Option<f64>> = splits
        .iter()
        .map(|own| if own.len() < FADE_FROM_ROUNDS { None } else { fade(own) })
        .collect();
    let mut sorted: Vec<f64> = fades.iter().copied().flatten().collect();
    sorted.sort_by(f64::total_cmp);
    let middle = sorted.len() / 2;
    let Some(&upper) = sorted.get(middle) else { return vec![false; splits.len()] };
    let median =
        if sorted.len() % 2 == 1 { upper } else { f64::midpoint(sorted[middle - 1], upper) };
    fades.into_iter().map(|own| own.is_some_and(|own| own >= median + FADE_OVER)).collect()
}

/// Class time from which a round is overdue by half its usual time (rule 5.3): by the last three
/// splits, or before there are any by what the sheet expects.
pub fn overdue_at(last_round: Span, splits: &[Span], expected: Option<Span>) -> Option<Span> {
    let usual = median(&splits[splits.len().saturating_sub(3)..]).or(expected)?;
    Some(last_round + usual + Span::from_micros(usual.as_micros() / 2))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn secs(splits: &[i64]) -> Vec<Span> {
        splits.iter().map(|&secs| Span::from_secs(secs)).collect()
    }

    #[test]
    fn four_rounds_at_four_of_seven_minutes_are_on_pace_for_seven() {
        let pace =
            on_pace_for(4, Span::from_mins(4), Span::from_mins(7), &secs(&[60, 58, 60, 62]), 26);
        assert_eq!(pace, Some(Tally::Rounds { rounds: 7, extra: 0 }));
        let part = on_pace_for(1, Span::from_secs(60), Span::from_secs(210), &secs(&[60]), 26);
        assert_eq!(part, Some(Tally::Rounds { rounds: 3, extra: 13 }));
        assert_eq!(on_pace_for(0, Span::ZERO, Span::from_mins(7), &[], 26), None);
    }

    #[test]
    fn thirty_four_at_two_of_six_minutes_are_on_pace_for_ninety_eight() {
        assert_eq!(on_rate_for(34, 16, Span::from_mins(4)), 98);
    }

    /// Mean 64, sample SD 5.33854, so 8.34147 %: computed with numpy 2.4.6 (`std(ddof=1)/mean`).
    #[test]
    fn steadiness_is_sample_sd_over_mean() {
        let splits = secs(&[58, 61, 63, 66, 72]);
        let steady = steadiness(&splits).expect("five splits");
        assert!((steady - 0.083_414_7).abs() < 1e-6, "{steady}");
        assert_eq!(steadiness(&secs(&[60, 60, 60])), Some(0.0));
        assert_eq!(steadiness(&secs(&[60])), None);
    }

    #[test]
    fn fade_compares_the_last_third_with_the_first() {
        let fade = fade(&secs(&[60, 60, 61, 63, 66, 66])).expect("six splits");
        assert!((fade - 0.1).abs() < 1e-9, "{fade}");
        assert_eq!(super::fade(&secs(&[60, 61])), None);
    }

    #[test]
    fn median_of_an_even_number_is_between_the_middle_two() {
        assert_eq!(median(&secs(&[62, 58])), Some(Span::from_secs(60)));
        assert_eq!(median(&[]), None);
    }
}
