package intake

import (
	"encoding/xml"
	"errors"
	"fmt"
	"strconv"
)

// builtInFormats are the formats that a workbook names by number only (ECMA-376
// part 1, 18.8.30). Where their text follows the user's language only its kind
// is written; a number that is not here cannot be told.
var builtInFormats = map[int]string{
	0: "General", 1: "0", 2: "0.00", 3: "#,##0", 4: "#,##0.00", 9: "0%", 10: "0.00%", 11: "0.00E+00", 12: "# ?/?", 13: "# ??/??",
	14: "m/d/yy", 15: "d-mmm-yy", 16: "d-mmm", 17: "mmm-yy", 18: "h:mm AM/PM", 19: "h:mm:ss AM/PM", 20: "h:mm", 21: "h:mm:ss",
	22: "m/d/yy h:mm", 27: "y/m/d", 28: "y/m/d", 29: "y/m/d", 30: "y/m/d", 31: "y/m/d", 36: "y/m/d",
	37: "#,##0;(#,##0)", 38: "#,##0;(#,##0)", 39: "#,##0.00;(#,##0.00)", 40: "#,##0.00;(#,##0.00)",
	45: "mm:ss", 46: "[h]:mm:ss", 47: "mm:ss.0", 48: "##0.0E+0", 49: "@",
	50: "y/m/d", 51: "y/m/d", 52: "y/m/d", 53: "y/m/d", 54: "y/m/d", 57: "y/m/d", 58: "y/m/d",
}

// readFormats reads the number format of each cell style.
func (w *workbook) readFormats(name string) ([]numberFormat, error) {
	own := map[int]string{}
	var ids []int
	inside := "" // the list being read: cell styles and others have like members
	err := w.eachTag(name, maxStyleXML, func(e xml.StartElement) error {
		switch e.Name.Local {
		case "numFmts", "cellXfs", "cellStyleXfs", "cellStyles", "dxfs", "fonts", "fills", "borders":
			inside = e.Name.Local
		case "numFmt":
			if inside != "numFmts" {
				return nil
			}
			id, err := strconv.Atoi(attr(e, "numFmtId"))
			if err != nil || len(own) > maxStyles {
				return errors.New("its number formats cannot be read")
			}
			own[id] = attr(e, "formatCode")
		case "xf":
			if inside != "cellXfs" {
				return nil
			}
			id := 0
			if s := attr(e, "numFmtId"); s != "" {
				var err error
				if id, err = strconv.Atoi(s); err != nil {
					return fmt.Errorf("a cell style has number format %q", s)
				}
			}
			if ids = append(ids, id); len(ids) > maxStyles {
				return fmt.Errorf("more than %d cell styles", maxStyles)
			}
		}
		return nil
	})
	if err != nil {
		return nil, err
	}
	known := map[int]numberFormat{}
	list := make([]numberFormat, len(ids))
	for i, id := range ids {
		f, ok := known[id]
		if !ok {
			code, found := own[id]
			if !found {
				code, found = builtInFormats[id]
			}
			f = parseFormat(code)
			if !found {
				f = numberFormat{code: "number " + strconv.Itoa(id), sections: []section{{kind: showsUnclear}}}
			}
			known[id] = f
		}
		list[i] = f
	}
	return list, nil
}
