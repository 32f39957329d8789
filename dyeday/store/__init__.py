"""Where it is kept: TinyDB files that survive a pulled plug. The only room that opens files of ours."""
