package triage

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestParseQuantity(t *testing.T) {
	for _, c := range []struct {
		text, base, want string
		exact            bool
	}{
		{"3.78", "V", "3.78", false},
		{"3780mV", "V", "3.78", false},
		{"3780 MV", "V", "3.78", false},
		{"3,78 V", "V", "3.78", false},
		{"5,1mm", "mm", "5.1", false},
		{"0.2in", "mm", "5.08", false},
		{"50 m³", "m3", "50", false},
		{"1765.7333 ft3", "m3", "50", false}, // x 0.028316847 m3
		{"2500 L", "m3", "2.5", true},
		{`0.2"`, "mm", "5.08", false},
		{"72F", "°C", "22.222222", false},
		{"32 °F", "°C", "0", false},
		{"-40F", "°C", "-40", false},
		{"-5", "°C", "-5", false},
		{"+22 °C", "°C", "22", false},
		{".5", "V", "0.5", false},
		{"5.2Ah", "mAh", "5200", true},
		{"5200", "mAh", "5200", true},
		{"20.02 Wh", "Wh", "20.02", true},
		{"0.1 kWh", "Wh", "100", true},
		{"1.5d", "h", "36", false},
		{"90min", "h", "1.5", false},
		{"30 s", "min", "0.5", false},
		{"0.042 Ω", "mΩ", "42", false},
		{"42 mOhm", "mΩ", "42", false},
		{"2.5 oz", "g", "70.873808", false}, // 28.349523125 g an ounce, to the millionth
		{"61 %", "%", "61", false},
		{"3.78123456789", "V", "3.781235", false}, // an instrument may print more than it knows
		{"20.000001", "Wh", "20.000001", true},
	} {
		got, err := ParseQuantity(c.text, c.base, c.exact)
		if err != nil || got.String() != c.want {
			t.Errorf("%q in %s: got %s, %v; want %s", c.text, c.base, got, err, c.want)
		}
	}
}

func TestParseQuantityRefuses(t *testing.T) {
	for _, c := range []struct{ text, base, want string }{
		{"", "V", "not a number"},
		{"V", "V", "not a number"},
		{"abc", "V", "not a number"},
		{"1e3", "V", "unknown unit"},
		{"3,780", "V", "thousands"},
		{"3,780 V", "V", "thousands"},
		{"1.234,5", "mAh", "more than one decimal mark"},
		{"1,2,3", "V", "more than one decimal mark"},
		{"4.500", "mAh", "write 4500"},
		{"3.78 K", "V", "unknown unit"},
		{"3.78 V V", "V", "unknown unit"},
		{"12345678901234567", "V", "more digits"},
		{"99999999999999 kg", "g", "more digits"},
		{"20.0000001", "Wh", "six decimals"},
		{"NaN", "V", "not a number"},
		{"Inf", "V", "not a number"},
		{"--5", "°C", "not a number"},
		{"0x10", "V", "unknown unit"},
	} {
		if got, err := ParseQuantity(c.text, c.base, true); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%q in %s: got %s, %v; want an error with %q", c.text, c.base, got, err, c.want)
		}
	}
}

// The largest whole capacity that stays at or under 20 Wh, by nominal voltage;
// derived figures of the transport reference.
func TestEnergyIsExact(t *testing.T) {
	for _, c := range []struct{ volts, most string }{
		{"3.70", "5405"}, {"3.80", "5263"}, {"3.82", "5235"}, {"3.85", "5194"}, {"3.87", "5167"}, {"3.88", "5154"},
	} {
		v, _ := ParseQuantity(c.volts, "V", true)
		most, _ := ParseQuantity(c.most, "mAh", true)
		if at, next := energy(v, most), energy(v, most+One); at > 20*One || next <= 20*One {
			t.Errorf("%s V: %s mAh gives %s Wh, one more gives %s Wh", c.volts, c.most, at, next)
		}
	}
	for _, c := range []struct{ volts, mah, want string }{
		{"3.85", "5200", "20.02"}, {"3.7", "26800", "99.16"}, {"3.85", "4500", "17.325"}, {"3.8", "2700", "10.26"},
		{"14.4", "5200", "74.88"}, {"14.4", "4900", "70.56"}, {"3.82", "3110", "11.8802"}, {"7.6", "5100", "38.76"},
	} {
		v, _ := ParseQuantity(c.volts, "V", true)
		q, _ := ParseQuantity(c.mah, "mAh", true)
		if got := energy(v, q).String(); got != c.want {
			t.Errorf("%s V x %s mAh: got %s Wh, want %s", c.volts, c.mah, got, c.want)
		}
	}
}

func TestRatioRoundsToTheSideAsked(t *testing.T) {
	for _, c := range []struct {
		a, b, c Micro
		side    rounding
		want    Micro
	}{
		{7, 1, 2, down, 3}, {7, 1, 2, up, 4}, {-7, 1, 2, down, -4}, {-7, 1, 2, up, -3}, {8, 1, 2, up, 4}, {8, 1, 2, down, 4},
	} {
		if got := ratio(c.a, c.b, c.c, c.side); got != c.want {
			t.Errorf("%d*%d/%d side %d: got %d, want %d", c.a, c.b, c.c, c.side, got, c.want)
		}
	}
	const most = Micro(1<<63 - 1)
	if got := ratio(most, most, 1, up); got < most-1 {
		t.Errorf("saturation: got %d", got)
	}
}

func TestMicroRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := Micro(rapid.Int64Range(-1e14, 1e14).Draw(t, "micro"))
		got, err := ParseQuantity(m.String(), "Wh", true)
		if err != nil || got != m {
			t.Fatalf("%d printed %s, read %d, %v", m, m, got, err)
		}
	})
}

func FuzzParseQuantity(f *testing.F) {
	seeds := []string{"3.78", "3780mV", "3,78 V", "0.2in", "72F", "3,780", "-40", "", ".", ",5", "1e9", "999999999999999", "４.２", "\x00"}
	if len(seeds) == 0 {
		f.Fatal("no seeds")
	}
	for _, s := range seeds {
		f.Add(s, uint8(0))
	}
	bases := []string{"V", "mAh", "Wh", "mm", "°C", "K", "h", "min", "mΩ", "g", "%", "x"}
	f.Fuzz(func(t *testing.T, s string, b uint8) {
		base := bases[int(b)%len(bases)]
		got, err := ParseQuantity(s, base, false)
		if err != nil {
			return
		}
		again, err := ParseQuantity(got.String()+" "+units[base][0].name, base, true)
		if err != nil && !strings.Contains(err.Error(), "thousands") || err == nil && again != got {
			t.Fatalf("%q in %s reads %s, which reads %s, %v", s, base, got, again, err)
		}
	})
}

func FuzzParseCondition(f *testing.F) {
	seeds := []string{"energy <= 20 Wh", "unit is cell", "swollen is yes", "rise >= 3 K", "a b c", "energy <= 20", "rise >= -1 K", ""}
	for _, s := range seeds {
		f.Add(s)
	}
	if n := 0; len(seeds) == n {
		f.Fatal("no seeds")
	}
	f.Fuzz(func(t *testing.T, line string) {
		c, err := ParseCondition(line)
		if err != nil {
			return
		}
		again, err := ParseCondition(c.String())
		if err != nil || again != c {
			t.Fatalf("%q compiles to %q, which compiles to %q, %v", line, c, again, err)
		}
	})
}
