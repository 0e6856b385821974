package staff

// Role is what an account may do.
type Role string

// The roles, from the least on.
const (
	Viewer  Role = "viewer"  // sees everything that staff see, and changes nothing
	Member  Role = "staff"   // answers owners, claims and closes cases
	Manager Role = "manager" // beside that: accounts, settings, the log
)

// Roles lists the roles from the least on.
func Roles() []Role { return []Role{Viewer, Member, Manager} }

func (r Role) rank() int {
	for i, one := range Roles() {
		if one == r {
			return i + 1
		}
	}
	return 0
}

// Known tells whether it is one of the roles.
func (r Role) Known() bool { return r.rank() > 0 }

// May tells whether a role may do what needs another. What is no role may nothing, and
// what needs no role that is known nobody may.
func (r Role) May(need Role) bool { return need.Known() && r.rank() >= need.rank() }
