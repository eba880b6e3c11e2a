package sqlbook

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"fmt"
	"io"
	"reflect"
)

// Scanner is a row whose cells are taken in their order, as [sql.Rows.Scan] does.
type Scanner interface{ Scan(to ...any) error }

// Row is a row whose cells are also taken by number, from 0. The next row overwrites it.
type Row interface {
	Scanner
	Null(i int) bool     // nothing is in the cell
	Int(i int) int64     // 0 where the cell holds no whole number
	Float(i int) float64 // 0 where the cell holds no number with a point
	Text(i int) string   // "" where the cell holds no text
	Blob(i int) []byte   // nil where nothing is in the cell; a copy
	Value(i int) any     // int64, float64, string, []byte or nil
}

// Reading gives each row of a statement until take says that it has enough, which makes
// more false.
type Reading func(ctx context.Context, query string, args []any, take func(Row) (bool, error)) (more bool, err error)

// value is a cell as the driver gives it: int64, float64, string, []byte or nil.
type value = driver.Value

// values are a row in memory.
type values []value

func (v values) Null(i int) bool      { return v[i] == nil }
func (v values) Int(i int) int64      { n, _ := v[i].(int64); return n }
func (v values) Float(i int) float64  { f, _ := v[i].(float64); return f }
func (v values) Text(i int) string    { s, _ := v[i].(string); return s }
func (v values) Value(i int) any      { return v[i] }
func (v values) Scan(to ...any) error { return ScanRow(v, to) }

func (v values) Blob(i int) []byte {
	switch cell := v[i].(type) {
	case []byte:
		return append([]byte{}, cell...)
	case string:
		return []byte(cell)
	}
	return nil
}

// ScanRow takes the cells of a row in their order, as [sql.Rows.Scan] does: nothing has no
// place but in what can be nothing.
func ScanRow(row Row, to []any) error {
	for i, to := range to {
		switch to := to.(type) {
		case *sql.RawBytes:
			*to = row.Blob(i)
			continue
		case *any:
			*to = row.Value(i)
			continue
		case *[]byte:
			*to = row.Blob(i)
			continue
		case *sql.NullInt64:
			*to = sql.NullInt64{Int64: row.Int(i), Valid: !row.Null(i)}
			continue
		}
		if row.Null(i) {
			return fmt.Errorf("nothing is in column %d, which is to be a %T", i, to)
		}
		switch to := to.(type) {
		case *string:
			*to = row.Text(i)
		case *int64:
			*to = row.Int(i)
		case *int:
			*to = int(row.Int(i))
		case *bool:
			*to = row.Int(i) != 0
		case *float64:
			*to = row.Float(i)
		default:
			named := reflect.ValueOf(to).Elem()
			if named.Kind() != reflect.String {
				return fmt.Errorf("column %d is to be a %T, which no row gives", i, to)
			}
			named.SetString(row.Text(i))
		}
	}
	return nil
}

// RawRows reads by the driver of a connection, below database/sql, whose conversions would
// take as long as the reading.
func RawRows(conn *sql.Conn) Reading {
	return func(ctx context.Context, query string, args []any, take func(Row) (bool, error)) (more bool, err error) {
		named := make([]driver.NamedValue, len(args))
		for i, v := range args {
			if plain, err := driver.DefaultParameterConverter.ConvertValue(v); err == nil {
				v = plain // otherwise it is for the engine's own driver, as a list is
			}
			named[i] = driver.NamedValue{Ordinal: i + 1, Value: v}
		}
		err = conn.Raw(func(c any) error {
			// The driver would look at ctx at every row, which takes its time.
			rows, err := c.(driver.QueryerContext).QueryContext(context.WithoutCancel(ctx), query, named)
			if err != nil {
				return err
			}
			defer rows.Close()
			row := make(values, len(rows.Columns()))
			for n := 0; ; n++ {
				if n%1024 == 0 && ctx.Err() != nil {
					return ctx.Err()
				}
				switch err := rows.Next(row); {
				case err == io.EOF:
					more = true
					return nil
				case err != nil:
					return err
				}
				if more, err = take(row); err != nil || !more {
					return err
				}
			}
		})
		return more, err
	}
}
