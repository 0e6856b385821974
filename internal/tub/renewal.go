package tub

// ReplacementDays is how many days the water lasts: US gallons / 3 / bathers a day.
// It is the same rule in Maine 10-144 CMR ch. 202 Appendix B, Montana ARM 37.115 and
// Anchorage 16.15.260; Maine acts on whole days, rounded down. For a tub at home with
// few bathers it gives months, and the sooner of it and 3 to 4 months holds (common
// practice, no source). Errors are *FieldError of "volume_us_gal" or "bathers_per_day",
// an average that may be a fraction: 0.01 to 1000.
func ReplacementDays(usGallons, bathersPerDay float64) (float64, error) {
	err := firstOf(
		CheckVolume(usGallons),
		within("bathers_per_day", bathersPerDay, 0.0099, 1000))
	if err != nil {
		return 0, err
	}
	return usGallons / 3 / bathersPerDay, nil
}
