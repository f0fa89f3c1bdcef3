import { say } from './toasts.tsx';

/** Links to be opened on another device, with a QR code each. */
export function LinkList({
  links,
  label,
}: {
  links: readonly { readonly url: string; readonly qrSvg: string }[];
  label: string;
}) {
  return (
    <ul className="links">
      {links.map(({ url, qrSvg }) => (
        <li key={url}>
          {/* Dark on white in both themes: cameras want it so. */}
          <img
            className="qr"
            src={`data:image/svg+xml,${encodeURIComponent(qrSvg)}`}
            alt={label}
            width="168"
            height="168"
          />
          <div>
            <p>
              <code className="path">{url}</code>
            </p>
            <button type="button" className="plain" onClick={() => void copy(url)}>
              Copy the link
            </button>
          </div>
        </li>
      ))}
    </ul>
  );
}

async function copy(text: string): Promise<void> {
  try {
    await navigator.clipboard.writeText(text);
    say('The link is copied.');
  } catch {
    say('The browser did not let the link be copied; mark it and copy it by hand.');
  }
}
