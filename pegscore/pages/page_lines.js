// What the eye reads on the water: lines and patches, at the nearest built level.

function drawLines() {}
