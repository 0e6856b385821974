package conversation_test

import (
	"reflect"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"tubhand/internal/conversation"
)

// TestACloneSharesNothing fills every field there is, however deep, and looks for memory
// that a conversation and its clone have in common. A field that is added to the domain
// and forgotten in Clone is found here.
func TestACloneSharesNothing(t *testing.T) {
	var c conversation.Conversation
	populate(reflect.ValueOf(&c).Elem())
	require.NotEmpty(t, c.Service.Facts)
	require.NotEmpty(t, c.Tub.Past[0].Read)
	same := c.Clone()
	require.Equal(t, c, same)
	held := map[uintptr]string{}
	pointees(reflect.ValueOf(c), "conversation", func(at uintptr, where string) { held[at] = where })
	require.Greater(t, len(held), 15)
	pointees(reflect.ValueOf(same), "conversation", func(at uintptr, where string) {
		require.NotContains(t, held, at, where)
	})
}

// populate sets everything but times, which are values.
func populate(v reflect.Value) {
	switch v.Kind() {
	case reflect.String:
		v.SetString("x")
	case reflect.Int, reflect.Int64:
		v.SetInt(1)
	case reflect.Float64:
		v.SetFloat(1)
	case reflect.Bool:
		v.SetBool(true)
	case reflect.Pointer:
		v.Set(reflect.New(v.Type().Elem()))
		populate(v.Elem())
	case reflect.Slice:
		v.Set(reflect.MakeSlice(v.Type(), 1, 1))
		populate(v.Index(0))
	case reflect.Map:
		v.Set(reflect.MakeMap(v.Type()))
		key, value := reflect.New(v.Type().Key()).Elem(), reflect.New(v.Type().Elem()).Elem()
		populate(key)
		populate(value)
		v.SetMapIndex(key, value)
	case reflect.Struct:
		if v.Type() == reflect.TypeFor[time.Time]() {
			return
		}
		for i := range v.NumField() {
			populate(v.Field(i))
		}
	}
}

// pointees tells of every piece of memory that a value points to.
func pointees(v reflect.Value, where string, tell func(at uintptr, where string)) {
	switch v.Kind() {
	case reflect.Pointer:
		tell(v.Pointer(), where)
		pointees(v.Elem(), where, tell)
	case reflect.Slice:
		tell(v.Pointer(), where)
		for i := range v.Len() {
			pointees(v.Index(i), where, tell)
		}
	case reflect.Map:
		tell(v.Pointer(), where)
		for _, key := range v.MapKeys() {
			pointees(v.MapIndex(key), where+"."+key.String(), tell)
		}
	case reflect.Struct:
		if v.Type() == reflect.TypeFor[time.Time]() {
			return
		}
		for i := range v.NumField() {
			pointees(v.Field(i), where+"."+v.Type().Field(i).Name, tell)
		}
	}
}
