// Command shadedrill trains and measures the eye that takes a shade.
package main

func main() {}
