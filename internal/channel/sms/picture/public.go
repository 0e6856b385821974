package picture

import "net/netip"

// special lists what looks public and is not: the IANA registries of special-purpose
// addresses (RFC 6890 and what came after), from memory. What embeds an IPv4 address is in
// it whole, since the embedded one may be private.
func special() []netip.Prefix {
	var out []netip.Prefix
	for _, s := range []string{
		"0.0.0.0/8",       // this network
		"100.64.0.0/10",   // shared by carriers
		"192.0.0.0/24",    // protocol assignments
		"192.0.2.0/24",    // documentation
		"192.88.99.0/24",  // 6to4 relays, withdrawn
		"198.18.0.0/15",   // measurements
		"198.51.100.0/24", // documentation
		"203.0.113.0/24",  // documentation
		"240.0.0.0/4",     // reserved, and broadcast
		"2001::/23",       // protocol assignments, Teredo among them
		"2001:db8::/32",   // documentation
		"2002::/16",       // 6to4
		"3fff::/20",       // documentation
	} {
		out = append(out, netip.MustParsePrefix(s))
	}
	return out
}

// unicast6 is what of IPv6 is given out to the public; all else (unique local, link-local,
// NAT64, discard) lies outside.
var unicast6 = netip.MustParsePrefix("2000::/3")

// Public tells whether an address is one of the public network. An IPv4 address may be
// written as an IPv6 one.
func Public(a netip.Addr) bool {
	a = a.Unmap()
	if !a.IsValid() || a.Zone() != "" || !a.IsGlobalUnicast() || a.IsPrivate() || a.IsLoopback() || a.IsLinkLocalUnicast() {
		return false
	}
	if a.Is6() && !unicast6.Contains(a) {
		return false
	}
	for _, p := range special() {
		if p.Contains(a) {
			return false
		}
	}
	return true
}
