@node "%~dp0..\scripts\everyroom.mjs" %*
