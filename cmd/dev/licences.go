package main

import (
	"regexp"
	"slices"
	"strings"
)

// licence is one file in which a work says what may be done with it.
type licence struct {
	file  string   // within the work, with slashes
	kinds []string // told by its sentences
	text  string
}

// sentence is what tells a kind of licence.
type sentence struct {
	kind, says string
	asks       bool // more of the whole program than its MIT licence can promise
}

// sentences are compared without capitals, line breaks, slashes and quotes.
var sentences = []sentence{
	{"AGPL", "gnu affero general public license", true},
	{"LGPL", "gnu lesser general public license", true},
	{"LGPL", "gnu library general public license", true},
	{"GPL", "gnu general public license", true},
	{"MPL", "mozilla public license", true},
	{"EPL", "eclipse public license", true},
	{"CDDL", "common development and distribution license", true},
	{"EUPL", "european union public licence", true},
	{"SSPL", "server side public license", true},
	{"BUSL", "business source license", true},
	{"CC-BY-SA", "attribution-sharealike", true},
	{"CC-BY-NC", "attribution-noncommercial", true},
	// Riders, which known licences come with.
	{"Commons-Clause", "commons clause", true},
	{"Commons-Clause", "does not grant to you, the right to sell", true},
	{"JSON", "shall be used for good, not evil", true},
	{"BSD-4-Clause", "advertising materials mentioning features or use of this software must display", true},
	{"non-commercial", "non-commercial use", true},
	{"non-commercial", "non-commercial purpose", true},
	{"non-commercial", "noncommercial", true},
	{"non-commercial", "not for commercial use", true},
	{"non-commercial", "for commercial use is prohibited", true},
	{"non-commercial", "commercial use is not permitted", true},
	{"academic", "for research purposes only", true},
	{"evaluation", "for evaluation purposes only", true},
	{"field-of-use", "may not be used for military", true},
	{"Hippocratic", "hippocratic license", true},
	{"MIT", "permission is hereby granted, free of charge, to any person obtaining a copy of this software and associated documentation files", false},
	{"BSD", "redistribution and use in source and binary forms, with or without modification, are permitted", false},
	{"BSD-W3C", "redistributions of works must retain the original copyright notice", false},
	{"Apache-2.0", "apache license version 2.0", false},
	{"ISC", "permission to use, copy, modify, and or distribute this software for any purpose with or without fee is hereby granted", false},
	{"Sun", "permission to use, copy, modify, and distribute this software is freely granted", false},
	{"Boost", "permission is hereby granted, free of charge, to any person or organization obtaining a copy of the software and accompanying documentation covered by this license", false},
	{"Unlicense", "this is free and unencumbered software released into the public domain", false},
	{"zlib", "permission is granted to anyone to use this software for any purpose, including commercial applications", false},
	{"OFL", "sil open font license version 1.1", false},
	{"Bitstream-Vera", "permission is hereby granted, free of charge, to any person obtaining a copy of the fonts accompanying this license", false},
	{"FTL", "the freetype project license", false},
	{"CC-BY-4.0", "creative commons attribution 4.0 international", false},
	{"Go-patents", "additional ip rights grant (patents)", false},
}

var betweenWords = regexp.MustCompile(`[\s"'“”*#/]+`)

// kindsOf tells a licence by its sentences, and whether one asks for more than
// MIT can promise. No kind means that nobody knows.
func kindsOf(text string) (kinds []string, asks bool) {
	plain := betweenWords.ReplaceAllString(strings.ToLower(text), " ")
	for _, s := range sentences {
		if strings.Contains(plain, s.says) {
			kinds, asks = append(kinds, s.kind), asks || s.asks
		}
	}
	return slices.Compact(kinds), asks
}

// allowed are files whose sentences alone do not let them pass, and why they do.
var allowed = map[string]string{
	"github.com/golang/freetype/LICENSE": "offers the FreeType licence or the GPL; we take the first, whose text is beside it",
}

// leftOut are files that do not concern the program, and why; where unless names
// a package, only as long as that one is not built in.
var leftOut = map[string]struct{ why, unless string }{
	"github.com/golang/freetype/licenses/gpl.txt":                   {"the choice we do not take", ""},
	"gonum.org/v1/gonum/THIRD_PARTY_LICENSES/Bogaert-LICENSE":       {"disclaims but grants nothing, and is of one package", "gonum.org/v1/gonum/integrate/quad"},
	"gonum.org/v1/gonum/THIRD_PARTY_LICENSES/W3C-TestSuite-LICENSE": {"is of test data for RDF graphs", "gonum.org/v1/gonum/graph/formats/rdf"},
}

// objection says why the program may not carry a work with such a licence, or "".
func (l licence) objection(work string) string {
	if allowed[work+"/"+l.file] != "" {
		return ""
	}
	switch kinds, asks := kindsOf(l.text); {
	case len(kinds) == 0:
		return "no sentence in it tells a licence we know: read it, and add its sentence or take the work out"
	case asks:
		return strings.Join(kinds, ", ") + " asks more of the whole program than MIT can promise: take the work out, or say in allowed why it may stay"
	}
	return ""
}
