import {
  Button,
  Label,
  ListBox,
  ListBoxItem,
  Popover,
  Select,
  SelectValue,
  Text,
} from 'react-aria-components';
import type { Profile } from '../../src/judge/profile.ts';
import { profileFigures } from '../../src/judge/profile-figures.ts';
import { type ProfileId, profileIds, profileOf } from '../../src/judge/profiles.ts';

/** What the song is held against: another choice judges the same measurement anew, at once. */
export function ProfileSelect({
  chosen,
  onChange,
}: {
  chosen: ProfileId;
  onChange: (id: ProfileId) => void;
}) {
  return (
    <div className="profile">
      <Select
        className="profile-select"
        value={chosen}
        onChange={(key) => {
          const id = profileIds.find((candidate) => candidate === key);
          if (id) onChange(id);
        }}
      >
        <Label className="note">Held against</Label>
        <Button className="secondary">
          <SelectValue>{profileOf(chosen).name}</SelectValue>
          <svg viewBox="0 0 12 12" width="12" height="12" aria-hidden="true">
            <path d="M2 4l4 4 4-4" fill="none" stroke="currentColor" strokeWidth="1.5" />
          </svg>
        </Button>
        <Popover className="popover profile-popover" placement="bottom start">
          <ListBox className="menu">
            {profileIds.map(profileOf).map((profile) => (
              <ListBoxItem
                key={profile.id}
                id={profile.id}
                textValue={profile.name}
                className="menu-item profile-item"
              >
                <Text slot="label">{profile.name}</Text>
                <Text slot="description" className="note">
                  {profile.about}
                </Text>
              </ListBoxItem>
            ))}
          </ListBox>
        </Popover>
      </Select>
      <ProfileNote profile={profileOf(chosen)} />
    </div>
  );
}

/** The figures of a profile and where each comes from, on demand. */
function ProfileNote({ profile }: { profile: Profile }) {
  return (
    <details className="profile-note">
      <summary className="note">What {profile.name} asks for</summary>
      <p className="sentence">{profile.about}</p>
      <dl className="profile-figures">
        {profileFigures(profile).map(({ what, figure, source }) => (
          <div key={what}>
            <dt>{what}</dt>
            <dd>
              <span className="num">{figure}</span> <small className="note">{source}</small>
            </dd>
          </div>
        ))}
      </dl>
    </details>
  );
}
