package export

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/browser"
	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	cdplog "github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	cdpage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"injtab/tables"
)

// A visit is a page open in a real browser, and what it did that it should not.
type visit struct {
	ctx context.Context
	t   *testing.T
	mu  sync.Mutex
	bad []string
}

// open shows a report's page in headless Chromium.
func open(t *testing.T, r tables.Report, before ...chromedp.Action[chromedp.Void]) *visit {
	t.Helper()
	path := program(t, "chromium", "chromium-browser", "google-chrome")
	file := filepath.Join(t.TempDir(), "report.html")
	if err := os.WriteFile(file, pageOf(t, r), 0o666); err != nil {
		t.Fatal(err)
	}
	ctx, stop := chromedp.NewExecAllocator(context.Background(), chromedp.ExecPath(path), chromedp.Headless,
		chromedp.NoSandbox, chromedp.DisableGPU, chromedp.NoFirstRun, chromedp.UserDataDir(t.TempDir()))
	t.Cleanup(stop)
	ctx, stop = chromedp.NewContext(ctx)
	t.Cleanup(stop)
	v := &visit{ctx: ctx, t: t}
	if err := chromedp.Listen(ctx, func(event any) { v.watch(event, file) }); err != nil {
		t.Fatal(err)
	}
	_, err := chromedp.Call(ctx, network.Enable, network.EnableParams{})
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop = context.WithTimeout(ctx, 30*time.Second)
	t.Cleanup(stop)
	v.ctx = ctx
	v.do(before...)
	v.do(chromedp.Navigate("file://" + file))
	return v
}

// watch notes requests that leave the file, messages on the console and dialogs.
func (v *visit) watch(event any, file string) {
	v.mu.Lock()
	defer v.mu.Unlock()
	switch e := event.(type) {
	case *network.EventRequestWillBeSent:
		if e.Request.URL != "file://"+file {
			v.bad = append(v.bad, "request "+e.Request.URL)
		}
	case *runtime.EventConsoleAPICalled, *runtime.EventExceptionThrown:
		v.bad = append(v.bad, "a message on the console")
	case *cdplog.EventEntryAdded:
		v.bad = append(v.bad, "the browser says: "+e.Entry.Text)
	case *cdpage.EventJavascriptDialogOpening:
		v.bad = append(v.bad, "a dialog: "+e.Message)
	}
}

func (v *visit) do(steps ...chromedp.Action[chromedp.Void]) {
	v.t.Helper()
	if err := chromedp.Do(v.ctx, steps...); err != nil {
		v.t.Fatal(err)
	}
}

func eval[T any](v *visit, script string) T {
	v.t.Helper()
	x, err := chromedp.Run(v.ctx, chromedp.Evaluate[T](script, chromedp.EvalAwaitPromise))
	if err != nil {
		v.t.Fatalf("%v in %.80s", err, script)
	}
	return x
}

// wantQuiet ends a visit.
func (v *visit) wantQuiet() {
	v.t.Helper()
	v.mu.Lock()
	defer v.mu.Unlock()
	if len(v.bad) > 0 {
		v.t.Errorf("the page did more than show itself: %q", v.bad)
	}
}

func (v *visit) scheme(name string) {
	v.t.Helper()
	_, err := chromedp.Call(v.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{
		Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: name}}})
	if err != nil {
		v.t.Fatal(err)
	}
}

// faint lists the texts whose contrast is below level AA, and the chart tones
// below 3:1 (success criteria 1.4.3 and 1.4.11, and the definitions of contrast
// ratio and relative luminance, of the Web Content Accessibility Guidelines 2.1).
const faint = `(() => {
  const parse = s => { const m = s.match(/[\d.]+/g).map(Number); return m.length < 4 ? [...m, 1] : m };
  const lum = c => { const [r, g, b] = c.slice(0, 3).map(v => { v /= 255; return v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4 });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b };
  const ratio = (a, b) => { const [x, y] = [lum(a), lum(b)].sort((p, q) => q - p); return (x + 0.05) / (y + 0.05) };
  const behind = e => { for (; e; e = e.parentElement) { const c = parse(getComputedStyle(e).backgroundColor); if (c[3] === 1) return c } return [255, 255, 255, 1] };
  const bad = [];
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  let seen = 0;
  for (let n; (n = walk.nextNode());) {
    const e = n.parentElement;
    if (!n.data.trim() || ['SCRIPT', 'STYLE', 'title', 'desc'].includes(e.tagName) || !e.getClientRects().length) continue;
    seen++;
    const s = getComputedStyle(e), svg = e.namespaceURI.endsWith('svg');
    const size = parseFloat(s.fontSize), large = size >= 24 || size >= 18.66 && s.fontWeight >= 700;
    const c = ratio(parse(svg ? s.fill : s.color), behind(e));
    if (c < (large ? 3 : 4.5)) bad.push(c.toFixed(2) + ' ' + n.data.trim().slice(0, 40));
  }
  const probe = document.body.appendChild(document.createElement('i'));
  for (const name of ['s1', 's2', 's3', 's4', 's5', 's6', 's7', 's8', 'limit', 'ink']) {
    probe.style.color = 'var(--' + name + ')'; probe.style.backgroundColor = 'var(--sheet)';
    const s = getComputedStyle(probe), c = ratio(parse(s.color), parse(s.backgroundColor));
    if (c < 3) bad.push(c.toFixed(2) + ' tone ' + name);
  }
  probe.remove();
  if (seen < 50) bad.push('only ' + seen + ' texts were looked at');
  return bad;
})()`

func TestPageInABrowser(t *testing.T) {
	for name, r := range map[string]tables.Report{"sample": sampleReport(), "hostile": hostileReport()} {
		t.Run(name, func(t *testing.T) {
			v := open(t, r)
			for _, scheme := range []string{"light", "dark"} {
				v.scheme(scheme)
				for _, width := range []int64{360, 800, 1400} {
					v.do(chromedp.EmulateViewport(width, 900))
					if over := eval[[]string](v, overflowing); len(over) > 0 {
						t.Errorf("%d px: wider than the window: %q", width, over)
					}
				}
				if bad := eval[[]string](v, faint); len(bad) > 0 {
					t.Errorf("%s: too faint: %q", scheme, bad)
				}
			}
			if n := eval[int](v, `document.querySelectorAll('script').length * 100 + document.querySelectorAll('img, iframe, object, link, form').length`); n != 100 {
				t.Errorf("elements that were not meant: %d", n)
			}
			if missing := eval[[]string](v, unnamed); len(missing) > 0 {
				t.Errorf("without an accessible name: %q", missing)
			}
			v.wantQuiet()
		})
	}
}

// overflowing lists what reaches beyond the window, outside boxes that scroll.
const overflowing = `(() => {
  const all = document.scrollingElement.scrollWidth > innerWidth ? ['the page: ' + document.scrollingElement.scrollWidth] : [];
  for (const e of document.querySelectorAll('body *')) {
    if (e.closest('.scroll, .picture, .skip')) continue;
    if (e.getBoundingClientRect().right > innerWidth + 0.5) all.push(e.tagName + ' ' + e.textContent.slice(0, 30));
  }
  return all;
})()`

// unnamed lists buttons, regions and pictures that assistive programs can't name,
// and anchors of the contents that lead nowhere.
const unnamed = `Array.from(document.querySelectorAll('button, [role=region], svg, nav, section, table')).filter(e => {
  if (e.tagName === 'TABLE') return !e.closest('[aria-label]');
  const ids = (e.getAttribute('aria-labelledby') || '').split(' ').filter(Boolean);
  return !(e.getAttribute('aria-label') || ids.length && ids.every(id => document.getElementById(id)?.textContent));
}).map(e => e.outerHTML.slice(0, 60)).concat(Array.from(document.querySelectorAll('a')).filter(a => !document.getElementById(a.hash.slice(1))).map(a => a.hash))`

func TestCopyButtonsInABrowser(t *testing.T) {
	v := open(t, sampleReport())
	allow := func(setting browser.PermissionSetting) {
		for _, name := range []string{"clipboard-read", "clipboard-write"} {
			if _, err := chromedp.CallBrowser(v.ctx, browser.SetPermission, browser.SetPermissionParams{
				Permission: &browser.PermissionDescriptor{Name: name}, Setting: setting}); err != nil {
				t.Fatal(err)
			}
		}
	}
	allow(browser.PermissionSettingGranted)
	eval[chromedp.Void](v, `document.addEventListener('copied', e => { window.lastCopied = e.detail })`)
	press := func(button string) {
		v.do(chromedp.Click(chromedp.CSS(button)))
		v.do(chromedp.Poll[chromedp.Void](`window.lastCopied !== undefined`))
	}
	press(`[data-table=table-dead-time] [data-all=no]`)
	want := "2.312\t2.840\t\n1.520\t1.600\t1.820\n1.100\t1.150\t1.260\n0.910\t0.951\t\n0.770\t0.805\t0.000\n"
	if got := eval[string](v, `lastCopied`); got != want {
		t.Errorf("got %q, want %q", got, want)
	}
	if got := eval[string](v, `navigator.clipboard.readText()`); got != want {
		t.Errorf("the clipboard holds %q", got)
	}
	press(`[data-table=table-trims] [data-all=yes]`)
	v.do(chromedp.Poll[chromedp.Void](`lastCopied.startsWith('cylinder')`))
	if got := eval[string](v, `lastCopied`); !strings.HasPrefix(got, "cylinder\tinjector\tflow_trim_pct\tdead_time_trim_ms\n1\t7\t1.2\t-0.012\n") {
		t.Errorf("with headings: %q", got)
	}
	eval[chromedp.Void](v, `navigator.clipboard.writeText = () => Promise.reject(new Error('not allowed'))`)
	press(`[data-table=table-flow] [data-all=no]`)
	v.do(chromedp.WaitVisible(chromedp.CSS(`[data-table=table-flow] textarea`)))
	if got := eval[string](v, `document.querySelector('textarea').value`); got != "456.6\n500.2\n577.6\n" {
		t.Errorf("to copy by hand: %q", got)
	}
	v.wantQuiet()
}

func TestPageWorksWithoutScripts(t *testing.T) {
	v := open(t, sampleReport(), withoutScripts)
	got := eval[[]int](v, `[document.querySelectorAll('td').length, Array.from(document.querySelectorAll('button')).filter(b => b.getClientRects().length).length,
	  Array.from(document.querySelectorAll('svg .hit title')).filter(t => t.textContent.includes('injector 7, 10 V')).length]`)
	if got[0] != 3+15+18+12 || got[1] != 0 || got[2] != 1 {
		t.Errorf("cells, visible buttons, values told by the pointer: %v", got)
	}
	v.wantQuiet()
}

func withoutScripts(ctx context.Context, t *chromedp.Target) (none chromedp.Void, err error) {
	_, err = cdp.Call(ctx, t, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
	return none, err
}
