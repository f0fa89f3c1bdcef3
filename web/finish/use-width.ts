import { useEffect, useRef, useState } from 'react';

/** The width that an element has on the page, pixels; for drawings that are made to fit. */
export function useWidth<E extends Element>(): [React.RefObject<E | null>, number] {
  const element = useRef<E>(null);
  const [width, setWidth] = useState(640);
  useEffect(() => {
    if (!element.current) return;
    const observer = new ResizeObserver(([entry]) => entry && setWidth(Math.round(entry.contentRect.width)));
    observer.observe(element.current);
    return () => observer.disconnect();
  }, []);
  return [element, width];
}
