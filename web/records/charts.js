// Charts over the days: how long a step took each time it ran, with the limits that its own history gives.

export async function openChartsOf() {}
