package colour

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"
)

// table reads a file of published figures from the top-level testdata folder:
// one map from column name to number for each row.
func table(t testing.TB, name string) []map[string]float64 {
	t.Helper()
	file, err := os.Open(filepath.Join("..", "testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	records, err := csv.NewReader(file).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	rows := make([]map[string]float64, 0, len(records))
	for _, record := range records[1:] {
		row := map[string]float64{}
		for i, field := range record {
			value, err := strconv.ParseFloat(field, 64)
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			row[records[0][i]] = value
		}
		rows = append(rows, row)
	}
	if len(rows) == 0 {
		t.Fatalf("%s holds no rows", name)
	}
	return rows
}

func near(t testing.TB, what string, got, want, within float64) {
	t.Helper()
	if d := got - want; !(d <= within && d >= -within) { // NaN fails too
		t.Errorf("%s = %.10g, want %.10g ± %.1g", what, got, want, within)
	}
}
