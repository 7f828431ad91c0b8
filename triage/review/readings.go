package review

// readingLooks are about what was read, and about the log's clock, tags and rules.
var readingLooks = map[string]func(*pass){}
