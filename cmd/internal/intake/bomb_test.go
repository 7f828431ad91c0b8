package intake

import (
	"archive/zip"
	"bytes"
	"compress/flate"
	"io"
	"runtime"
	"strings"
	"sync/atomic"
	"testing"
	"time"
)

// packedWith is a workbook whose part is written by fill.
func packedWith(t *testing.T, part string, fill func(w io.Writer)) []byte {
	t.Helper()
	parts := partsOf(sheetOf(head("tag")), []string{"none"}, "0.0")
	delete(parts, part)
	var buf bytes.Buffer
	zw := zip.NewWriter(&buf)
	for name, text := range parts {
		w, err := zw.Create(name)
		must(t, err)
		_, err = io.WriteString(w, text)
		must(t, err)
	}
	zw.RegisterCompressor(zip.Deflate, func(w io.Writer) (io.WriteCloser, error) { return flate.NewWriter(w, flate.BestSpeed) })
	w, err := zw.Create(part)
	must(t, err)
	fill(w)
	must(t, zw.Close())
	return buf.Bytes()
}

// repeat writes text n times, and fast.
func repeat(w io.Writer, text string, n int) {
	const block = 1000
	many := []byte(strings.Repeat(text, block))
	for ; n >= block; n -= block {
		_, _ = w.Write(many)
	}
	_, _ = io.WriteString(w, strings.Repeat(text, n))
}

// Small files that would fill the memory or run for minutes end in an error
// that says what is too much, within the memory of a small machine.
func TestBombsAreRefused(t *testing.T) {
	noLitter(t)
	const sheet, texts, styles = "xl/worksheets/sheet1.xml", "xl/sharedStrings.xml", "xl/styles.xml"
	open := "<worksheet " + mainNS + "><sheetData>"
	for name, c := range map[string]struct {
		part string
		fill func(w io.Writer)
		want string
	}{
		"one cell of 300 MB": {sheet, func(w io.Writer) {
			repeat(w, open+head("tag")+"<row><c t=\"inlineStr\"><is><t>", 1)
			repeat(w, "aaaaaaaaaa", 30_000_000)
			repeat(w, "</t></is></c></row></sheetData></worksheet>", 1)
		}, "text, tag or comment longer"},
		"one attribute": {sheet, func(w io.Writer) {
			repeat(w, open+`<row x="`, 1)
			repeat(w, "aaaaaaaaaa", 1_000_000)
			repeat(w, `"/></sheetData></worksheet>`, 1)
		}, "text, tag or comment longer"},
		"one comment": {sheet, func(w io.Writer) {
			repeat(w, open+"<!--", 1)
			repeat(w, "aaaaaaaaaa", 1_000_000)
			repeat(w, "--></sheetData></worksheet>", 1)
		}, "text, tag or comment longer"},
		"a cell of many pieces": {sheet, func(w io.Writer) {
			repeat(w, open+head("tag")+"<row><c><v>", 1)
			repeat(w, "<!---->aaaaaaaaaa", 1_000_000)
			repeat(w, "</v></c></row></sheetData></worksheet>", 1)
		}, "text, tag or comment longer"},
		"100,000 rows of 16,384 empty columns": {sheet, func(w io.Writer) {
			repeat(w, open+head("tag"), 1)
			repeat(w, "<row>"+strings.Repeat("<c/>", 16_384)+"</row>", 4_000)
			repeat(w, "</sheetData></worksheet>", 1)
		}, "a row of more than 1000 cells"},
		"rows of 1,000 empty columns": {sheet, func(w io.Writer) {
			repeat(w, open+head("tag"), 1)
			repeat(w, "<row>"+strings.Repeat("<c/>", 1000)+"</row>", 20_000)
			repeat(w, "</sheetData></worksheet>", 1)
		}, "more than 2000010 empty cells, and 1 with something in them"},
		"rows of 1,000 cells, one in ten filled": {sheet, func(w io.Writer) {
			repeat(w, open+head("tag"), 1)
			repeat(w, "<row>"+strings.Repeat("<c><v>1</v></c>"+strings.Repeat("<c/>", 9), 100)+"</row>", 17_000)
			repeat(w, "</sheetData></worksheet>", 1)
		}, "more than 16000000 cells"},
		"rows without end": {sheet, func(w io.Writer) {
			repeat(w, open+head("tag"), 1)
			repeat(w, "<row/>", 2_000_000)
			repeat(w, "</sheetData></worksheet>", 1)
		}, "more than 1048576 rows"},
		"more rows than are read": {sheet, func(w io.Writer) {
			repeat(w, open+head("tag"), 1)
			repeat(w, "<row><c><v>1</v></c></row>", 300_000)
			repeat(w, "</sheetData></worksheet>", 1)
		}, "more than 250000 rows with values; split it, or save it as CSV"},
		"merges without end": {sheet, func(w io.Writer) {
			repeat(w, open+"</sheetData>", 1)
			repeat(w, `<mergeCell ref="A1:B2"/>`, 200_000)
			repeat(w, "</worksheet>", 1)
		}, "more than 100000 merged ranges"},
		"deep nesting": {sheet, func(w io.Writer) {
			repeat(w, open+head("tag")+"<row><c><is>", 1)
			repeat(w, "<r>", 20_000_000)
		}, "nested more than 64 deep"},
		"deep nesting behind the rows": {sheet, func(w io.Writer) {
			repeat(w, open+head("tag")+"</sheetData>", 1)
			repeat(w, "<x>", 5_000_000)
		}, "nested more than 64 deep"},
		"a sheet of 700 MB": {sheet, func(w io.Writer) {
			repeat(w, open, 1)
			repeat(w, "          ", 70_000_000)
		}, "the limit is 640 MB; split it, or save it as CSV"},
		"texts without end": {texts, func(w io.Writer) {
			repeat(w, "<sst "+mainNS+">", 1)
			repeat(w, "<si><t/></si>", 2_000_000)
			repeat(w, "</sst>", 1)
		}, "more than 600000 texts and pieces"},
		"runs without end in the texts": {texts, func(w io.Writer) {
			repeat(w, "<sst "+mainNS+"><si>", 1)
			repeat(w, "<r/>", 2_000_000)
			repeat(w, "</si></sst>", 1)
		}, "more than 600000 texts and pieces"},
		"runs without end in a cell": {sheet, func(w io.Writer) {
			repeat(w, open+head("tag")+`<row><c t="inlineStr"><is>`, 1)
			repeat(w, "<r/>", 20_000_000)
			repeat(w, "</is></c></row></sheetData></worksheet>", 1)
		}, "a text of more than 1000 pieces"},
		"texts of 60 MB": {texts, func(w io.Writer) {
			repeat(w, "<sst "+mainNS+">", 1)
			repeat(w, "<si><t>aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa</t></si>", 1_000_000)
			repeat(w, "</sst>", 1)
		}, "the limit is 32 MB"},
		"styles of 50 MB": {styles, func(w io.Writer) {
			repeat(w, "<styleSheet "+mainNS+"><cellXfs>", 1)
			repeat(w, `<xf numFmtId="0" fontId="0" fillId="0" borderId="0"/>`, 1_000_000)
			repeat(w, "</cellXfs></styleSheet>", 1)
		}, "the limit is 16 MB"},
		"many styles": {styles, func(w io.Writer) {
			repeat(w, "<styleSheet "+mainNS+"><cellXfs>", 1)
			repeat(w, `<xf/>`, 200_000)
			repeat(w, "</cellXfs></styleSheet>", 1)
		}, "more than 65536 cell styles"},
		"deep styles": {styles, func(w io.Writer) { repeat(w, "<a>", 5_000_000) }, "nested more than 64 deep"},
		"a list of sheets of 100 MB": {"xl/workbook.xml", func(w io.Writer) {
			repeat(w, "<workbook>", 1)
			repeat(w, `<sheet name="a"/>`, 6_000_000)
		}, "the limit is 4 MB"},
	} {
		book := packedWith(t, c.part, c.fill)
		var got read
		peak := peakHeap(func() { got = readBook(book, "", nil) })
		if got.err == nil || !strings.Contains(got.err.Error(), c.want) {
			t.Errorf("%s (%d kB): %v, want %q", name, len(book)>>10, got.err, c.want)
		}
		if peak > 300<<20 {
			t.Errorf("%s: %d MB of memory", name, peak>>20)
		}
	}
}

// What the limits allow must be read within the same memory.
func TestTheLimitsThemselvesAreBearable(t *testing.T) {
	noLitter(t)
	book := packedWith(t, "xl/sharedStrings.xml", func(w io.Writer) {
		repeat(w, "<sst "+mainNS+">", 1)
		repeat(w, "<si><t>aaaaaaaaaa</t></si>", maxStrings)
		repeat(w, "</sst>", 1)
	})
	var got read
	if peak := peakHeap(func() { got = readBook(book, "", nil) }); got.err != nil || peak > 400<<20 {
		t.Errorf("as many texts as may be: %v, %d MB", got.err, peak>>20)
	} else {
		t.Logf("as many texts as may be: %d MB", peak>>20)
	}
}

// A directory of endless parts is not read to its end.
func TestManyPartsAreRefused(t *testing.T) {
	var buf bytes.Buffer
	zw := zip.NewWriter(&buf)
	name := strings.Repeat("a", 200)
	for i := range 30_000 {
		_, err := zw.Create(name + decimal(float64(i)))
		must(t, err)
	}
	must(t, zw.Close())
	if got := readBook(buf.Bytes(), "", nil); got.err == nil || !strings.Contains(got.err.Error(), "more parts than a workbook can have") {
		t.Errorf("got %v", got.err)
	}
}

// peakHeap returns how much the heap grew at most while f ran, as seen every few
// milliseconds.
func peakHeap(f func()) uint64 {
	runtime.GC()
	var before, now runtime.MemStats
	runtime.ReadMemStats(&before)
	var most atomic.Uint64
	stop, done := make(chan struct{}), make(chan struct{})
	go func() {
		defer close(done)
		for {
			runtime.ReadMemStats(&now)
			if now.HeapInuse > before.HeapInuse {
				most.Store(max(most.Load(), now.HeapInuse-before.HeapInuse))
			}
			select {
			case <-stop:
				return
			case <-time.After(5 * time.Millisecond):
			}
		}
	}()
	f()
	close(stop)
	<-done
	return most.Load()
}
