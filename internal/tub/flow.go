package tub

import "time"

// The slowest and fastest water a household moves (our decision). Hoses are published
// at 6 to 17 gal/min (gardening pages), a submersible pump drains a mid-size tub in
// about 10 minutes (common practice, no source); the bounds leave room on both sides.
const (
	minHose = 0.2   // gal/min, exclusive: a dripping tap fills nothing
	maxHose = 60    // gal/min
	minPump = 30    // gal/h, exclusive
	maxPump = 20000 // gal/h
)

// BucketTest is a hose measured with a bucket: how much it held, how long it took.
type BucketTest struct {
	USGallons float64
	Seconds   float64
}

// HoseFlow is the flow of the hose in US gallons a minute. Errors are *FieldError of
// "bucket_us_gal" (at most 50), "bucket_seconds" (at most an hour) or
// "hose_gal_per_min".
func (b BucketTest) HoseFlow() (float64, error) {
	err := firstOf(
		within("bucket_us_gal", b.USGallons, 0, 50),
		within("bucket_seconds", b.Seconds, 0, 3600))
	if err != nil {
		return 0, err
	}
	flow := b.USGallons / b.Seconds * 60
	if err := checkHose(flow); err != nil {
		return 0, err
	}
	return flow, nil
}

// TimedFill is the volume in US gallons that a hose of that flow (US gallons a minute)
// put in within that time: minutes times gallons a minute. Errors are *FieldError of
// "hose_gal_per_min", "fill_minutes" (at most two days) or "volume_us_gal".
func TimedFill(hoseGalPerMin float64, took time.Duration) (usGallons float64, err error) {
	err = firstOf(
		checkHose(hoseGalPerMin),
		within("fill_minutes", took.Minutes(), 0, 2*24*60))
	if err != nil {
		return 0, err
	}
	usGallons = hoseGalPerMin * took.Minutes()
	if err := CheckVolume(usGallons); err != nil {
		return 0, err
	}
	return usGallons, nil
}

// FillTime is how long a hose of that flow, in US gallons a minute, takes to fill the
// tub. Errors are *FieldError of "volume_us_gal" or "hose_gal_per_min".
func FillTime(usGallons, hoseGalPerMin float64) (time.Duration, error) {
	if err := firstOf(CheckVolume(usGallons), checkHose(hoseGalPerMin)); err != nil {
		return 0, err
	}
	return hours(usGallons / hoseGalPerMin / 60), nil
}

// DrainTime is how long a pump of that rate, in US gallons an hour, takes to empty the
// tub. A pump's printed rate is without lift or hose, so the real time is longer; no
// margin is added. Errors are *FieldError of "volume_us_gal" or "pump_gal_per_hour".
func DrainTime(usGallons, pumpGalPerHour float64) (time.Duration, error) {
	err := firstOf(
		CheckVolume(usGallons),
		within("pump_gal_per_hour", pumpGalPerHour, minPump, maxPump))
	if err != nil {
		return 0, err
	}
	return hours(usGallons / pumpGalPerHour), nil
}

func checkHose(galPerMin float64) error {
	return within("hose_gal_per_min", galPerMin, minHose, maxHose)
}

func hours(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }
