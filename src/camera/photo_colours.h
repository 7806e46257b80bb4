/* Photo colours: a photograph in which a colour chart, or a grey card, tells what its light is, so
 * that any place on the plane can be read as Lab. */
#ifndef ROWLOCK_CAMERA_PHOTO_COLOURS_H
#define ROWLOCK_CAMERA_PHOTO_COLOURS_H

#include "camera/colour_chart.h"
#include "camera/colour_fit.h"
#include "camera/homography.h"
#include "camera/light_field.h"
#include "camera/photo.h"

/* What is known of a photograph before it is read. */
typedef struct ChartView {
    const Photo *photo;
    const Photo *white;       /* of plain paper in the same place and light, or NULL */
    const ColourChart *chart; /* NULL: a grey card */
    double grey;              /* L* of the grey card */
    PlanePoint corner[4];     /* middles of the chart's corner patches, around from the first; of a
                                 grey card its own corners */
    const PlanePoint (*paper)[4]; /* places of plain paper, each four corners */
    int papers;
} ChartView;

typedef struct PhotoColours {
    ChartView view;
    PlanePoint middle; /* of the chart: light is told against here */
    Homography place;  /* from the chart's plane, in patches, to pixels */
    LightField field;
    ColourFit fit;
    int narrow; /* patches of the chart that have a channel at nothing */
} PhotoColours;

/* A place as it was read. */
typedef struct PlaceReading {
    Lab lab;
    double chance;  /* standard error by noise and uneven light, CIEDE2000 */
    double system;  /* the same by the fit, which all places of a colour share */
    bool narrow;    /* a channel is at nothing: the colour is beyond what the picture can hold */
    bool drawn_out; /* the colour is beyond the chart's, and its error at least twice as large */
} PlaceReading;

/* The fit's greatest errors on patches left out, CIEDE2000: beyond them a photograph is refused. */
#define FIT_MEAN_MOST 3.0
#define FIT_WORST_MOST 6.0

/* Reads the chart. Faults (STATUS_DATA), each with how to mend it: corners that make no
 * quadrilateral or lie beyond the photograph, patches too small, clipped, shone upon, light of two
 * colours, a fit that is too far off. */
Status photo_colours_init(PhotoColours *colours_out, const ChartView *view, Fault *fault);

/* Reads a place. Why it cannot be: *why_out, static; NULL where it was read. */
void photo_colours_read(const PhotoColours *colours, const PlanePoint corner[4],
                        PlaceReading *reading_out, const char **why_out);

#endif
