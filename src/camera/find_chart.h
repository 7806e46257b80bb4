/* Find chart: where in a photograph a colour chart lies, from its own pattern. */
#ifndef ROWLOCK_CAMERA_FIND_CHART_H
#define ROWLOCK_CAMERA_FIND_CHART_H

#include "base/voice.h"
#include "camera/colour_chart.h"
#include "camera/homography.h"
#include "camera/photo.h"

/* Middles of the chart's corner patches, around from the first, whichever way the chart is turned.
 * Faults: none is found, or it is not sure which it is (STATUS_DATA); memory; stopped. */
Status find_chart(PlanePoint corner_out[4], const Photo *photo, const ColourChart *chart,
                  const Voice *voice, Fault *fault);

#endif
