package bench

import (
	"bytes"
	"encoding/xml"
	"path"
	"strconv"
	"strings"

	"github.com/xuri/excelize/v2"
)

// mostFormulas bounds what is kept of a sheet that is nothing but formulas.
const mostFormulas = 1 << 16

// A cellAt counts columns and rows from 1.
type cellAt struct{ col, row int }

// formulasOf finds the cells of a sheet that hold a formula, going through its part
// once: to ask the library for one cell makes it build the whole sheet in memory,
// which takes hours for a small file made to that end.
func formulasOf(book *excelize.File, sheet string) map[cellAt]bool {
	found := map[cellAt]bool{}
	d := xml.NewDecoder(bytes.NewReader(sheetPart(book, sheet)))
	var at cellAt
	for len(found) < mostFormulas {
		token, err := d.RawToken()
		if err != nil { // the end; damage is told of where the cells are read
			break
		}
		start, ok := token.(xml.StartElement)
		switch {
		case !ok:
		case start.Name.Local == "row":
			at = cellAt{row: at.row + 1}
			if row, err := strconv.Atoi(attribute(start, "r")); err == nil {
				at.row = row
			}
		case start.Name.Local == "c":
			at.col++
			if col, _, err := excelize.CellNameToCoordinates(attribute(start, "r")); err == nil {
				at.col = col
			}
		case start.Name.Local == "f":
			found[at] = true
		}
	}
	return found
}

func attribute(e xml.StartElement, name string) string {
	for _, a := range e.Attr {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// sheetPart finds the part of a workbook that holds a sheet; nil where its tables of
// contents do not lead there.
func sheetPart(book *excelize.File, sheet string) []byte {
	var links struct {
		Relationship []struct {
			ID     string `xml:"Id,attr"`
			Target string `xml:"Target,attr"`
		}
	}
	if err := xml.Unmarshal(partOf(book, "xl/_rels/workbook.xml.rels"), &links); err != nil {
		return nil
	}
	for _, s := range book.WorkBook.Sheets.Sheet {
		for _, l := range links.Relationship {
			if s.Name == sheet && s.ID == l.ID {
				return partOf(book, strings.TrimPrefix(path.Join("/xl", l.Target), "/"))
			}
		}
	}
	return nil
}

func partOf(book *excelize.File, name string) []byte {
	part, _ := book.Pkg.Load(name)
	data, _ := part.([]byte)
	return data
}
