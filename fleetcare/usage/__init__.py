"""How much each part has run: hours by day and water, for engines and for components.

In: the fleet and a `History`. Out: `EngineUse` (one engine's hours and waters, asked by day) and
`ComponentUse` (the same along the engines that carried a component). Hours are hundredths, exact:
whole numbers where they can be, fractions where hours were spread, scaled or came from fuel.
Nothing is refused here; a log with faults is stopped before it comes in.
"""
