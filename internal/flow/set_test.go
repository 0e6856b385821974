package flow_test

import (
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"tubhand/internal/flow"
)

// loadChanged loads the good flows with one change in one of them.
func loadChanged(t *testing.T, name, from, to string) error {
	t.Helper()
	files := fstest.MapFS{}
	for _, file := range []string{"small_flush", "small_foam"} {
		source := goodSource(t, file)
		if file == name {
			require.Contains(t, source, from)
			source = strings.Replace(source, from, to, 1)
		}
		files[file+".yaml"] = &fstest.MapFile{Data: []byte(source)}
	}
	_, err := flow.Load(files)
	return err
}

func TestLoadChecksFlowsTogether(t *testing.T) {
	slips := []struct{ name, file, from, to, want string }{
		{"unknown trouble", "small_flush", "call: small_foam", "call: small_fom", `flows/small_flush.yaml:11:11: unknown trouble "small_fom"; name a flow of kind trouble (did you mean "small_foam"?)`},
		{"calls a service", "small_flush", "call: small_foam", "call: small_flush", `flows/small_flush.yaml:11:11: unknown trouble "small_flush"`},
		{"trouble calls", "small_foam", "to: jets_off", "call: small_foam", `flows/small_foam.yaml:14:15: state "look": a trouble calls another`},
		{"returns nowhere", "small_foam", "    end: true", "    end: true\n    return: dry_off", `flows/small_foam.yaml:28:13: state "back_to_it": returns to "dry_off", which its caller small_flush does not have`},
		{"stamp", "small_flush", "        stamp: product_in\n", "", `flows/small_flush.yaml:63:15: state "soak": nothing stamps "product_in"; add stamp: product_in to a transition`},
		{"fact with other values", "small_foam", "foam_over_edge: [yes, no]", "foam_over_edge: [yes, no]\n  new_filters: [no, yes]", `flows/small_foam.yaml:7:16: fact "new_filters" has other values in its caller small_flush`},
		{"same name", "small_foam", "flow: small_foam", "flow: small_flush", `flows/small_foam.yaml:1:7: the flow "small_flush" is also in flows/small_flush.yaml`},
	}
	for _, slip := range slips {
		t.Run(slip.name, func(t *testing.T) {
			err := loadChanged(t, slip.file, slip.from, slip.to)
			require.Error(t, err)
			require.Contains(t, err.Error(), slip.want)
		})
	}
}

func TestLoadTakesWhatTroublesShare(t *testing.T) {
	require.NoError(t, loadChanged(t, "small_foam", "    end: true", "    end: true\n    return: drain"), "its caller has the state")
	require.NoError(t, loadChanged(t, "small_foam", "    ask: {done: true}",
		"    ask: {done: true}\n    timers: [{timer: over, after: 40m, from: product_in, to: back_to_it}]"), "its caller stamps the moment")
}

func TestLoadReportsEveryFile(t *testing.T) {
	_, err := flow.Load(fstest.MapFS{
		"a.yaml": {Data: []byte("flow: [")}, "b.yaml": {Data: []byte("bogus: 1")}, "notes.txt": {Data: []byte("not read")},
	})
	problems := flow.Problems(err)
	require.Len(t, problems, 2)
	require.Equal(t, "flows/a.yaml", problems[0].File)
	require.Equal(t, "flows/b.yaml", problems[1].File)

	_, err = flow.Load(fstest.MapFS{})
	require.ErrorContains(t, err, "no *.yaml files; put the flow files there")
}
