"""Makes the strokes and the reference labels that test_outline.c reads.

Needs Debian's python3-skimage 0.19.3, python3-scipy 1.10.1 and python3-pil; the test needs none of
them. Run from this folder. NAME-strokes.png: 0 nothing, 1 ground, 2 and up layers.
NAME-walker.png: skimage.segmentation.random_walker, direct solver, on the picture at half its
size, in CIELAB, blurred by 0.75 pixels, with beta set so that weights are
exp(-difference^2 / (2 2.5^2)) + 1e-6. NAME-prior.png: the equations of random_walker.h with
their prior, put together here and solved by scipy.sparse.linalg.spsolve."""
import numpy as np
from PIL import Image, ImageDraw
from scipy import ndimage, sparse
from scipy.sparse.linalg import splu
from skimage import color, segmentation

STROKES = {
    'astronaut': [
        (1, [(90, 30), (140, 150)]), (1, [(310, 40), (370, 60)]), (1, [(330, 150), (340, 250)]),
        (1, [(20, 60), (60, 180)]), (1, [(20, 250), (8, 500)]), (1, [(430, 120), (420, 250)]),
        (1, [(390, 300), (505, 325)]),
        (2, [(80, 300), (60, 480)]), (2, [(200, 320), (180, 480)]), (2, [(250, 330), (255, 480)]),
        (2, [(300, 300), (330, 335)]), (2, [(130, 200), (200, 270)]), (2, [(295, 240), (230, 285)]),
        (2, [(200, 205), (260, 240)]),
        (3, [(170, 70), (280, 80)]), (3, [(200, 110), (250, 150)]), (3, [(215, 168), (235, 172)]),
        (4, [(330, 430), (450, 470)]), (4, [(400, 356), (480, 420)]), (4, [(500, 470), (500, 500)])],
    'coffee': [
        (1, [(10, 20), (100, 20)]), (1, [(30, 150), (120, 70)]), (1, [(30, 300), (60, 390)]),
        (1, [(160, 390), (110, 380)]), (1, [(500, 350), (580, 380)]), (1, [(490, 60), (560, 200)]),
        (1, [(440, 20), (560, 40)]),
        (2, [(100, 200), (130, 300)]), (2, [(200, 350), (330, 360)]), (2, [(445, 180), (455, 250)]),
        (2, [(140, 110), (160, 120)]), (2, [(370, 300), (355, 260)]), (2, [(414, 80), (395, 190)]),
        (3, [(230, 60), (350, 60)]), (3, [(260, 140), (340, 160)]), (3, [(190, 150), (185, 180)]),
        (3, [(250, 205), (340, 195)]), (3, [(270, 240), (290, 265)]), (3, [(230, 250), (212, 290)])],
}
# sRGB, adapted to D50 by Bradford, as published by B. Lindbloom.
SRGB_TO_XYZ_D50 = np.array([[0.4360747, 0.3850649, 0.1430804], [0.2225045, 0.7168786, 0.0606169],
                            [0.0139322, 0.0971045, 0.7141733]])
PALETTE = [0, 0, 0, 128, 128, 128, 230, 60, 50, 60, 110, 230, 60, 180, 80]


def save(name, indices):
    picture = Image.fromarray(indices.astype(np.uint8), 'P')
    picture.putpalette(PALETTE)
    picture.save(name, optimize=True)


def halved(a):
    return (a[0::2, 0::2] + a[1::2, 0::2] + a[0::2, 1::2] + a[1::2, 1::2]) / 4


def linear(rgb):
    return np.where(rgb <= 0.04045, rgb / 12.92, ((rgb + 0.055) / 1.055) ** 2.4)


def halved_strokes(s):
    """The lowest of the most frequent strokes of each four pixels."""
    four = np.stack([s[0::2, 0::2], s[1::2, 0::2], s[0::2, 1::2], s[1::2, 1::2]])
    count = np.stack([(four == k).sum(0) for k in range(1, 5)])
    return np.where(count.max(0) > 0, count.argmax(0) + 1, 0)


def weights(lab):
    across = np.exp(-((lab[:, 1:] - lab[:, :-1]) ** 2).sum(-1) / 12.5) + 0.001
    along = np.exp(-((lab[1:] - lab[:-1]) ** 2).sum(-1) / 12.5) + 0.001
    return across, along


def priors(lab, strokes, labels):
    bins = np.stack([np.clip(np.floor(v), 0, 19) for v in
                     (lab[..., 0] / 5, (lab[..., 1] + 60) / 6, (lab[..., 2] + 60) / 6)]).astype(int)
    tables = []
    for k in range(1, labels + 1):
        table = np.zeros((20, 20, 20))
        np.add.at(table, tuple(bins[:, strokes == k]), 1)
        for axis in range(3):
            table = ndimage.correlate1d(table, [.25, .5, .25], axis=axis, mode='constant')
        tables.append(table / table.sum() + 1e-4)
    tables = np.stack(tables)
    return (tables / tables.sum(0))[:, bins[0], bins[1], bins[2]]


def solve_with_prior(lab, strokes, labels, g):
    high, wide = strokes.shape
    number = np.arange(high * wide).reshape(high, wide)
    across, along = weights(lab)
    i = np.concatenate([number[:, :-1].ravel(), number[:-1].ravel()])
    j = np.concatenate([number[:, 1:].ravel(), number[1:].ravel()])
    w = np.concatenate([across.ravel(), along.ravel()])
    tie = sparse.coo_matrix((np.r_[w, w], (np.r_[i, j], np.r_[j, i]))).tocsr()
    matrix = sparse.diags(np.asarray(tie.sum(1)).ravel() + g) - tie
    free, fixed = strokes.ravel() == 0, strokes.ravel() > 0
    factors = splu(matrix[free][:, free].tocsc())
    prior, chances = priors(lab, strokes, labels), []
    for k in range(labels):
        given = (strokes.ravel()[fixed] == k + 1).astype(float)
        x = np.zeros(high * wide)
        x[fixed] = given
        x[free] = factors.solve(g * prior[k].ravel()[free] - matrix[free][:, fixed] @ given)
        chances.append(x)
    return np.argmax(chances, 0).reshape(high, wide) + 1


for name, lines in STROKES.items():
    rgb = np.asarray(Image.open('../pictures/%s.png' % name).convert('RGB')) / 255
    canvas = Image.new('L', (rgb.shape[1], rgb.shape[0]))
    for label, line in lines:
        ImageDraw.Draw(canvas).line(line, fill=label, width=6)
    strokes = np.asarray(canvas)
    save(name + '-strokes.png', strokes)
    labels, strokes = int(strokes.max()), halved_strokes(strokes)
    light = halved(linear(rgb))
    lab = color.xyz2lab(light @ SRGB_TO_XYZ_D50.T, illuminant='D50')
    lab = np.stack([ndimage.gaussian_filter(lab[..., c], 0.75, mode='nearest', truncate=3.5)
                    for c in range(3)], -1)
    beta = 10 * lab.std() * np.sqrt(3) / 12.5
    save(name + '-walker.png', segmentation.random_walker(lab, strokes, beta=beta, mode='bf',
                                                          channel_axis=-1))
    save(name + '-prior.png', solve_with_prior(lab, strokes, labels, 1 / 13.5 ** 2))
