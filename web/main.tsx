import { QueryClient, QueryClientProvider } from '@tanstack/react-query';
import { StrictMode } from 'react';
import { createRoot } from 'react-dom/client';
import 'uplot/dist/uPlot.min.css';
import './style/index.css';
import { ApiFailure } from './api/client.ts';
import { App } from './app.tsx';

const queries = new QueryClient({
  defaultOptions: {
    queries: {
      // Events tell the page what changed; asking again on every focus would only make noise.
      staleTime: 30_000,
      refetchOnWindowFocus: false,
      // A sentence from the server is an answer; only an unreachable server is worth asking again.
      retry: (count, error) => error instanceof ApiFailure && error.unreachable && count < 2,
      networkMode: 'always',
    },
    mutations: { networkMode: 'always' },
  },
});

createRoot(document.getElementById('page')!).render(
  <StrictMode>
    <QueryClientProvider client={queries}>
      <App />
    </QueryClientProvider>
  </StrictMode>,
);
