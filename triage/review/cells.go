package review

// cellLooks are about single cells: their classes, where they stood, how long.
var cellLooks = map[string]func(*pass){
	"review-damaged-among-others":  damagedAmongOthers,
	"review-several-in-one":        severalInOne,
	"review-reacted-unrecorded":    reactedUnrecorded,
	"review-damaged-sent-light":    damagedSentLight,
	"review-lowered-by-one":        loweredByOne,
	"review-breached-among-intact": breachedAmongIntact,
	"review-release-unanswered":    releaseUnanswered,
	"review-kept-a-year":           kept("overdue"),
	"review-kept-eleven-months":    kept("due"),
	"review-kept-nine-months":      kept("notice"),
	"review-start-unknown":         startUnknown,
	"review-start-later":           startLater,
	"review-open-container":        openContainer,
	"review-look-missed":           lookMissed,
	"review-not-made-safe":         notMadeSafe,
	"review-lost-sight":            lostSight,
	"review-answer-changed":        answerChanged,
}
