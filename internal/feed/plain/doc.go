// Package plain holds the slow and obvious twins of package feed, for its tests alone:
// a linear programme solved by trying every corner, and a chick's food summed in small steps.
package plain
