import { lazy, Suspense, useEffect, useRef } from 'react';
import { RouterProvider } from 'react-aria-components';
import { Link, Route, Switch, useLocation } from 'wouter';
import { type Link as ServerLink, useLive } from './api/live.ts';
import { Message } from './parts/message.tsx';
import { ThemeSwitch, useTitle } from './parts/theme.tsx';
import { Toasts } from './parts/toasts.tsx';
import { BenchScreen } from './screens/bench.tsx';
import { CatalogueRunScreen } from './screens/catalogue-run.tsx';
import { CatalogueSongScreen } from './screens/catalogue-song.tsx';
import { CataloguesScreen } from './screens/catalogues.tsx';
import { ChangeScreen } from './screens/change.tsx';
import { DeskScreen } from './screens/desk.tsx';
import { MeasurePlaceScreen } from './screens/measure-place.tsx';
import { MeasuringScreen } from './screens/measuring.tsx';
import { PlaceScreen } from './screens/place.tsx';
import { PlacesScreen } from './screens/places.tsx';
import { RecordScreen } from './screens/record.tsx';
import { RecordsScreen } from './screens/records.tsx';
import { SetScreen } from './screens/set.tsx';
import { SetsScreen } from './screens/sets.tsx';
import { ShootoutScreen } from './screens/shootout.tsx';
import { SongScreen } from './screens/song.tsx';
import { SongPlacesScreen } from './screens/song-places.tsx';
import { StorageScreen } from './screens/storage.tsx';
import { SurviveScreen } from './screens/survive.tsx';
import { VerdictScreen } from './screens/verdict.tsx';
import { WalkScreen } from './screens/walk.tsx';
import { WatchScreen } from './screens/watch.tsx';
import { UploadsProvider } from './uploads/uploads.tsx';

/** With the whole chain and its kernels: fetched when it is wanted. */
const FinishScreen = lazy(async () => ({
  default: (await import('./screens/finish.tsx')).FinishScreen,
}));

/** Where the head leads. */
const rooms = [
  { href: '/', word: 'Bench' },
  { href: '/records', word: 'Records' },
  { href: '/sets', word: 'Reference sets' },
  { href: '/places', word: 'Places' },
  { href: '/watch', word: 'Watched folders' },
  { href: '/catalogue', word: 'Catalogue' },
  { href: '/storage', word: 'Storage' },
];

/** The whole page: its head, the screen that the address names, and what may appear over any screen. */
export function App() {
  const [path, go] = useLocation();
  const link = useLive();
  const main = useRef<HTMLElement>(null);
  const lastPath = useRef(path);

  // A new screen starts at its top, for the eye and for the screen reader alike.
  useEffect(() => {
    if (lastPath.current === path) return;
    lastPath.current = path;
    window.scrollTo(0, 0);
    main.current?.focus({ preventScroll: true });
  }, [path]);

  return (
    <RouterProvider navigate={go}>
      <UploadsProvider>
        <a className="skip" href="#main">
          Skip to the page
        </a>
        <header className="head">
          <Link href="/" className="wordmark">
            Everyroom
          </Link>
          <nav aria-label="Everyroom">
            {rooms.map(({ href, word }) => (
              <Link key={href} href={href} aria-current={path === href ? 'page' : undefined}>
                {word}
              </Link>
            ))}
          </nav>
          <ThemeSwitch />
        </header>
        <LostServer link={link} />
        <main id="main" ref={main} tabIndex={-1}>
          <Switch>
            <Route path="/">
              <BenchScreen />
            </Route>
            <Route path="/songs/:id/desk">{({ id }) => <DeskScreen key={id} id={id} />}</Route>
            <Route path="/songs/:id/finish">
              {({ id }) => (
                <Suspense fallback={<Message title="Laying out the chain…" />}>
                  <FinishScreen key={id} id={id} />
                </Suspense>
              )}
            </Route>
            <Route path="/sets">
              <SetsScreen />
            </Route>
            <Route path="/sets/:id">{({ id }) => <SetScreen key={id} id={id} />}</Route>
            <Route path="/places">
              <PlacesScreen />
            </Route>
            <Route path="/places/measure">
              <MeasurePlaceScreen />
            </Route>
            <Route path="/places/measure/:id">{({ id }) => <MeasuringScreen key={id} id={id} />}</Route>
            <Route path="/places/:id">{({ id }) => <PlaceScreen key={id} id={id} />}</Route>
            <Route path="/records">
              <RecordsScreen />
            </Route>
            <Route path="/records/:id">{({ id }) => <RecordScreen key={id} id={id} />}</Route>
            <Route path="/watch">
              <WatchScreen />
            </Route>
            <Route path="/catalogue">
              <CataloguesScreen />
            </Route>
            <Route path="/catalogue/:id/songs/:seq">
              {({ id, seq }) => <CatalogueSongScreen key={`${id} ${seq}`} id={id} seq={seq} />}
            </Route>
            <Route path="/catalogue/:id">{({ id }) => <CatalogueRunScreen key={id} id={id} />}</Route>
            <Route path="/storage">
              <StorageScreen />
            </Route>
            <Route path="/songs/:id">{({ id }) => <SongScreen key={id} id={id} />}</Route>
            <Route path="/walks/:id">{({ id }) => <WalkScreen key={id} id={id} />}</Route>
            <Route path="/shootouts/:id">{({ id }) => <ShootoutScreen key={id} id={id} />}</Route>
            <Route path="/versions/:id/change/:from">
              {({ id, from }) => <ChangeScreen key={`${from} ${id}`} from={from} to={id} />}
            </Route>
            <Route path="/versions/:id">{({ id }) => <VerdictScreen key={id} id={id} />}</Route>
            <Route path="/versions/:id/places">{({ id }) => <SongPlacesScreen key={id} id={id} />}</Route>
            <Route path="/versions/:id/survive">{({ id }) => <SurviveScreen key={id} id={id} />}</Route>
            <Route>
              <NoSuchPage />
            </Route>
          </Switch>
        </main>
        <Toasts />
      </UploadsProvider>
    </RouterProvider>
  );
}

function LostServer({ link }: { link: ServerLink }) {
  return (
    <div role="status" className="lost-place">
      {link === 'lost' && (
        <div className="lost">
          <strong>Everyroom is not running.</strong> Start it again with <code>npm start</code> in its folder.
          Nothing is lost: this page carries on by itself as soon as it answers.
        </div>
      )}
    </div>
  );
}

function NoSuchPage() {
  useTitle('No such page');
  return (
    <Message title="There is no such page.">
      <p>
        <Link href="/">Back to the bench</Link>
      </p>
    </Message>
  );
}
