package review

// cellLooks are about single cells: their classes, where they stood, how long.
var cellLooks = map[string]func(*pass){
	"review-damaged-among-others": damagedAmongOthers,
	"review-several-in-one":       severalInOne,
}
