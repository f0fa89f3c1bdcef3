/** The file that came with a measuring microphone: read as text, understood by the server. */
export function MicrophoneFile({
  name,
  onText,
}: {
  /** Of the file that is used; null without one. */
  name: string | null;
  onText: (file: { readonly name: string; readonly text: string } | null) => void;
}) {
  return (
    <div className="measure-step">
      <label className="field">
        The microphone’s own curve, if there is one
        <input
          type="file"
          accept=".txt,.cal,.csv,.frd,text/plain"
          onChange={(event) => {
            const [chosen] = event.target.files ?? [];
            if (chosen) void chosen.text().then((text) => onText({ name: chosen.name, text }));
          }}
        />
        <span className="note">
          A text file with lines of Hz and dB. It is taken out of what was recorded.
        </span>
      </label>
      {name !== null && (
        <p>
          {name}{' '}
          <button type="button" className="plain" onClick={() => onText(null)}>
            Leave it out
          </button>
        </p>
      )}
    </div>
  );
}
