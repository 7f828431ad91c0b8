package review

// readingLooks are about what was read, and about the log's clock, tags and rules.
var readingLooks = map[string]func(*pass){
	"review-rating-crosses": ratingCrosses,
	"review-rating-differs": ratingDiffers,
	"review-rating-near":    ratingNear,
	"review-unread-share":   unreadShare,
	"review-unread-long":    unreadLong,
	"review-too-regular":    tooRegular,
	"review-pattern":        pattern,
	"review-nobody-reports": nobodyReports,
	"review-quantity":       quantity,
	"review-breached-mass":  breachedMass,
	"review-store-over":     storeOver,
	"review-tag-unissued":   tagUnissued,
	"review-clock":          clockBack,
	"review-entered-late":   enteredLate,
	"review-log-damaged":    logDamaged,
	"review-file-gone":      fileGone,
	"review-rules-old":      rulesOld,
	"review-local-open":     localOpen,
	"review-recall-list":    recallList,
}
