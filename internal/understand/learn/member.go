package learn

import (
	"math"
	"math/rand/v2"
)

// member is one network under training: rows of hidden units for the features, bent
// once and weighed for all classes; AdaGrad on cross-entropy, one question beside the other.
type member struct {
	settings                 Settings
	questions                [][]string
	hidden, classes          int
	rows, bias, out, outBias weights
	random                   *rand.Rand
	bent, back, logits       []float32
	kept                     []int32
}

// weights are parameters with their sums of squared gradients.
type weights struct{ w, squares []float32 }

func newWeights(n int, random *rand.Rand, spread float64) weights {
	x := weights{make([]float32, n), make([]float32, n)}
	if spread > 0 {
		for i := range x.w {
			x.w[i] = float32(random.NormFloat64() * spread)
		}
	}
	return x
}

func (x *weights) step(i int, gradient, rate, decay float32) {
	g := gradient + decay*x.w[i]
	x.squares[i] += g * g
	x.w[i] -= rate * g / float32(math.Sqrt(float64(x.squares[i])+1e-8))
}

func newMember(features int, questions [][]string, s Settings, k uint64) *member {
	n := &member{settings: s, questions: questions, hidden: s.Hidden, random: newRandom(s, k)}
	for _, classes := range questions {
		n.classes += len(classes)
	}
	n.rows = newWeights(features*n.hidden, n.random, 0.3)
	n.bias = newWeights(n.hidden, n.random, 0)
	n.out = newWeights(n.hidden*n.classes, n.random, 1/math.Sqrt(float64(n.hidden)))
	n.outBias = newWeights(n.classes, n.random, 0)
	n.bent, n.back, n.logits = make([]float32, n.hidden), make([]float32, n.hidden), make([]float32, n.classes)
	return n
}

func (n *member) train(lessons []lesson) {
	order := n.random.Perm(len(lessons))
	for range n.settings.Epochs {
		n.random.Shuffle(len(order), func(i, j int) { order[i], order[j] = order[j], order[i] })
		for _, i := range order {
			n.learn(&lessons[i])
		}
	}
}

// learn moves the weights by one lesson, of which a part is hidden.
func (n *member) learn(x *lesson) {
	n.kept = n.kept[:0]
	for _, f := range x.known {
		if n.random.Float64() >= n.settings.Drop {
			n.kept = append(n.kept, f)
		}
	}
	norm := float32(Norm(int(float64(x.all) * (1 - n.settings.Drop))))
	n.forward(norm)
	n.errors(x.classes)
	n.backward(norm)
}

func (n *member) forward(norm float32) {
	clear(n.bent)
	for _, f := range n.kept {
		for j, w := range n.rows.w[int(f)*n.hidden : (int(f)+1)*n.hidden] {
			n.bent[j] += w
		}
	}
	for j := range n.bent {
		n.bent[j] = n.bent[j]*norm + n.bias.w[j]
		if n.bent[j] < 0 {
			n.bent[j] *= leak
		}
	}
	copy(n.logits, n.outBias.w)
	for j, x := range n.bent {
		for c, w := range n.out.w[j*n.classes : (j+1)*n.classes] {
			n.logits[c] += x * w
		}
	}
}

// errors turns logits into gradients: shares less what is right, 0 where not labelled.
func (n *member) errors(right []int) {
	at := 0
	for q, classes := range n.questions {
		part := n.logits[at : at+len(classes)]
		at += len(classes)
		if right[q] < 0 {
			clear(part)
			continue
		}
		shares := make([]float64, len(part))
		for i, x := range part {
			shares[i] = float64(x)
		}
		share(shares)
		for i, p := range shares {
			part[i] = float32(p)
		}
		part[right[q]]--
	}
}

// tiny gradients are not worth their step.
const tiny = 1e-4

func (n *member) backward(norm float32) {
	rate, decay := float32(n.settings.Rate), float32(n.settings.Decay)
	slow := rate * 0.3 // what is shared by many texts moves less at a time
	for j, x := range n.bent {
		pull := float32(0)
		for c, g := range n.logits {
			if g > tiny || g < -tiny {
				pull += g * n.out.w[j*n.classes+c]
				n.out.step(j*n.classes+c, g*x, slow, decay)
			}
		}
		if x < 0 {
			pull *= leak
		}
		n.back[j] = pull * norm
		n.bias.step(j, pull*0.2, slow, 0)
	}
	for c, g := range n.logits {
		if g > tiny || g < -tiny {
			n.outBias.step(c, g*0.2, rate, 0)
		}
	}
	for _, f := range n.kept {
		for j, g := range n.back {
			if g > tiny/100 || g < -tiny/100 {
				n.rows.step(int(f)*n.hidden+j, g, slow, decay)
			}
		}
	}
}
