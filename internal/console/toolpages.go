package console

// The pages that show what the shop has and does.
const (
	flowsPage      = "flows"
	flowPage       = "steps"
	settingsPage   = "settings"
	triedPage      = "try"
	rehearsalsPage = "rehearsals"
	playedPage     = "played"
	reportsPage    = "reports"
)

// toolPages lists them.
func toolPages() []string {
	return []string{flowsPage, flowPage, settingsPage, triedPage, rehearsalsPage, playedPage, reportsPage}
}
