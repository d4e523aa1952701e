package vehicle

import (
	"context"
	"errors"
	"testing"
)

// Whoever asked for an engine's tables may give up while they are filled; who
// waits for the same tables then fills them; and how far they are can be asked for.
func TestEnginesGiveUp(t *testing.T) {
	in := camper(t).response.Input()
	in.ChargeK++ // none that is kept
	var e Engines
	ctx, cancel := context.WithCancel(t.Context())
	first := make(chan error)
	go func() {
		_, err := e.response(ctx, in)
		first <- err
	}()
	done, of := 0, 0
	for done == 0 {
		done, of = e.Progress()
		select {
		case err := <-first:
			t.Fatalf("ended before it was cancelled: %v", err)
		default:
		}
	}
	if of <= done {
		t.Errorf("%d of %d done at the beginning", done, of)
	}
	second := make(chan error)
	go func() {
		_, err := e.response(t.Context(), in)
		second <- err
	}()
	cancel()
	if err := <-first; !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: %v", err)
	}
	if err := <-second; err != nil {
		t.Error(err)
	}
	if done, of = e.Progress(); done != 0 || of != 0 {
		t.Errorf("at the end %d of %d", done, of)
	}
	if _, ok := e.kept[keyOf(in)]; !ok {
		t.Error("the tables are not kept")
	}
}
