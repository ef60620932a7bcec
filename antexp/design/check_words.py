"""Check words: one a swap, said by both ends, which shows when one end is a swap out of step."""

from __future__ import annotations

import numpy as np

# Everyday nouns of four to eight letters, none a wire, metal, number or letter of the spelling alphabets in use,
# no two within one letter of each other (a test holds that), so that any choice of them is safe.
_WORDS = """
    acorn actor admiral agenda airport album alley almond alpine amber anchor animal apple apricot april arcade
    armour arrow artist aspen atlas attic august autumn avenue bacon badge bagpipe bakery balcony ballad balloon
    bamboo banana banjo banner barley barrel basket beaver bedroom beetle berry bicycle biscuit blanket blossom
    bonfire bonnet bottle boulder bracelet branch brick bridge broom brother bucket buffalo builder bumper burrow
    butter button cabbage cabin cactus camera campus canal candle canoe canyon captain caravan cargo carpet carrot
    cartoon castle cavern cedar cello chalk chapel chapter charcoal cherry chess chestnut chicken chimney chorus
    cinema cinnamon circus citizen clarinet cloud clover coast cobweb coconut coffee college comet compass concert
    cookie corner cottage cotton cousin cowboy cradle crayon cricket crocus crystal cucumber cupboard curtain
    cushion custard cycle daffodil dairy dancer dentist desert diamond diary dinner dolphin domino donkey doorway
    dragon drawer dream drummer duckling dungeon eagle easel eclipse editor elbow elephant emerald engine
    envelope escape evening fabric falcon family farmer feather finger flamingo flannel flower flute folder
    football forest fossil fountain freckle frost furnace galaxy garage garden garlic gazelle geyser giraffe
    glacier glove goblet goose gravel grocer guitar gymnast hamlet hammock hamster harbour harvest hazel hedgehog
    helmet heron hexagon highway holiday honey horizon hospital husky iceberg icicle igloo indigo insect
    iris island ivory jacket jaguar jelly jersey jigsaw jockey journal jubilee judge juice jungle juniper kangaroo
    kayak kennel kettle kingdom kiosk kitchen kitten koala label lagoon lantern laundry lavender lemon leopard
    letter library lilac lizard llama lobster lumber magpie mammoth mango mansion maple marble market marmot
    marzipan meadow medal melody melon mermaid midnight mirror monsoon morning mosaic muffin museum mushroom
    napkin nectar needle nephew nursery nutmeg oasis oboe ocean octopus olive omelette onion opera orange orchard
    orchid organ osprey ostrich otter oyster paddle paint palace panda panther paper parade parcel parsley pasture
    patrol peacock peanut pebble pelican pencil penguin pepper petal piano picnic pigeon pillow pilgrim pine
    pirate pixel plaza plum pocket poem polka poncho poppy potato pottery prairie prince prism prune pumpkin
    puppet puzzle pyramid quarry quill rabbit raccoon radish raisin rainbow rascal raven reindeer ribbon river
    robin rooster rosemary ruby saffron sailor salad salmon sandal sapphire sardine satchel saturn sausage scarf
    scholar school scooter seagull season shadow shampoo shepherd sherbet shoulder shovel shrimp sister skeleton
    sketch slipper snail snowman soldier sparrow spider spinach sponge squirrel stadium statue stocking stone
    student sugar summer sunrise swallow sweater swimmer syrup table tadpole teapot temple tennis theatre thimble
    thistle thunder ticket timber toaster tobacco tomato topaz tortoise tourist tractor traffic treasure trousers
    trumpet tulip tundra tunnel turnip turtle tuxedo twilight umbrella uncle unicorn vanilla velvet
    village vinegar violin visitor volcano voyage wagon walnut walrus wardrobe wedding whale wheat window
    winter wombat yacht yellow yoghurt zebra zeppelin zigzag
"""

WORDS: tuple[str, ...] = tuple(_WORDS.split())


def check_words(count: int, rng: np.random.Generator) -> tuple[str, ...]:
    """Draw fresh check words for a day.

    Parameters
    ----------
    count : int
        How many; beyond the length of `WORDS` the rest are pairs of words such as ``lemon-tunnel``.
    rng : numpy.random.Generator
        Source of chance. The first words of a longer draw are those of a shorter one with the same generator.

    Returns
    -------
    tuple of str, length count
        All different, each at least two letters away from every other.
    """
    singles = [WORDS[i] for i in rng.permutation(len(WORDS))]
    size = len(singles)
    # the second word walks on by one more place each round: no pair comes twice before size * (size - 1) pairs
    pairs = (f"{singles[i % size]}-{singles[(i + 1 + i // size) % size]}" for i in range(max(0, count - size)))
    return (*singles[:count], *pairs)


def within_one_letter(one: str, other: str) -> bool:
    """Tell whether two words are equal or one letter changed, added or dropped apart."""
    if abs(len(one) - len(other)) > 1:
        return False
    same = 0
    while same < min(len(one), len(other)) and one[same] == other[same]:
        same += 1
    rest, rest_other = one[same:], other[same:]
    return rest[1:] == rest_other[1:] or rest[1:] == rest_other or rest == rest_other[1:]
