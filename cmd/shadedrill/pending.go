package main

import (
	"context"
	"github.com/spf13/cobra"
	"shadedrill/scoring/record"
)

func openBook(context.Context, string) (record.Book, error) { return nil, errNoTrainer }
func (a *app) openTrainer(context.Context) error            { return errNoTrainer }
func (a *app) practiseCommand() *cobra.Command              { return &cobra.Command{Use: "practise"} }
func (a *app) displayCommand() *cobra.Command               { return &cobra.Command{Use: "display"} }
func (a *app) progressCommand() *cobra.Command              { return &cobra.Command{Use: "progress"} }
func (a *app) exportCommand() *cobra.Command                { return &cobra.Command{Use: "export"} }
func (a *app) simulateCommand() *cobra.Command              { return &cobra.Command{Use: "simulate"} }
func (a *app) completeLearner(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return nil, 0
}
